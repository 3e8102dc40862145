using System.Globalization;

namespace LibraryShelf.Core.Shared;

/// <summary>Sizes as people read them: decimal units (1 kB = 1,000 bytes, as disks and browsers count), two figures where they matter.</summary>
public static class DataSize
{
    private static readonly string[] Units = ["bytes", "kB", "MB", "GB", "TB"];

    /// <summary>"812 bytes", "38 MB", "1.9 GB". <paramref name="bytes"/> is 0 or more.</summary>
    public static string Of(long bytes)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(bytes);
        decimal amount = bytes;
        var unit = 0;
        while (unit < Units.Length - 1 && Rounded(amount, unit) >= 1000)
        {
            amount /= 1000;
            unit++;
        }
        if (unit == 0)
            return bytes == 1 ? "1 byte" : $"{bytes} bytes";
        var format = Decimals(amount, unit) == 1 ? "0.0" : "0";
        return $"{Rounded(amount, unit).ToString(format, CultureInfo.InvariantCulture)} {Units[unit]}";
    }

    /// <summary>One decimal below 10, and for gigabytes below 100, where a tenth is still a coffee's wait.</summary>
    private static int Decimals(decimal amount, int unit) => unit switch
    {
        0 => 0,
        1 => 0,
        2 => amount < 9.95m ? 1 : 0,
        _ => amount < 99.95m ? 1 : 0,
    };

    private static decimal Rounded(decimal amount, int unit) =>
        Math.Round(amount, Decimals(amount, unit), MidpointRounding.AwayFromZero);
}
