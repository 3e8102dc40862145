using System.Globalization;

namespace LibraryShelf.Core.Shared;

/// <summary>Amounts of money, kept in the currency's smallest unit.</summary>
public static class Money
{
    /// <summary>Currencies whose smallest unit is not a hundredth: ISO 4217, list one, column "minor units".</summary>
    private static readonly Dictionary<string, int> Decimals = new(StringComparer.Ordinal)
    {
        ["BIF"] = 0, ["CLP"] = 0, ["DJF"] = 0, ["GNF"] = 0, ["ISK"] = 0, ["JPY"] = 0, ["KMF"] = 0, ["KRW"] = 0, ["PYG"] = 0, ["RWF"] = 0,
        ["UGX"] = 0, ["VND"] = 0, ["VUV"] = 0, ["XAF"] = 0, ["XOF"] = 0, ["XPF"] = 0,
        ["BHD"] = 3, ["IQD"] = 3, ["JOD"] = 3, ["KWD"] = 3, ["LYD"] = 3, ["OMR"] = 3, ["TND"] = 3,
    };

    private static readonly Dictionary<string, string> Signs = new(StringComparer.Ordinal) { ["EUR"] = "€", ["GBP"] = "£", ["USD"] = "$" };

    /// <summary>"£6.00", "CHF 6.50", "JPY 600".</summary>
    public static string Of(long minor, string currency) => Written(minor, currency, DecimalsOf(currency));

    private static string Written(long minor, string currency, int decimals)
    {
        var amount = (minor / Power(DecimalsOf(currency))).ToString("N" + decimals, Say.Culture);
        return Signs.TryGetValue(currency, out var sign) ? sign + amount : $"{currency} {amount}";
    }

    /// <summary>Without the hundredths when there are none: "£6".</summary>
    public static string Short(long minor, string currency) =>
        Written(minor, currency, minor % (long)Power(DecimalsOf(currency)) == 0 ? 0 : DecimalsOf(currency));

    /// <summary>As typed, with a point or a comma: "6", "6.50", "6,5". Null: no amount above nothing that this currency has.</summary>
    public static long? Read(string? typed, string currency)
    {
        if (!decimal.TryParse(typed?.Trim().Replace(',', '.'), NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var amount))
            return null;
        var minor = amount * Power(DecimalsOf(currency));
        return minor > 0 && minor == decimal.Truncate(minor) && minor < 100_000_000 ? (long)minor : null;
    }

    private static int DecimalsOf(string currency) => Decimals.GetValueOrDefault(currency, 2);

    private static decimal Power(int decimals) => decimals switch { 0 => 1, 3 => 1000, _ => 100 };
}
