using System.Globalization;

namespace LibraryShelf.Web.Practice;

/// <summary>One question to the stand-in: names and values in Stripe's form encoding ("line_items[0][price]"), and the name in its address.</summary>
internal sealed record Ask(Billing Billing, string Id, IReadOnlyDictionary<string, string> Values)
{
    private const int DefaultLimit = 10;
    private const int MostLimit = 100;

    public Ledger Ledger => Billing.Ledger;

    public string? this[string name] => Values.TryGetValue(name, out var value) && value.Length > 0 ? value : null;

    public string Needed(string name) => this[name] ?? throw new Refusal(400, "parameter_missing", $"Missing required param: {name}.");

    public long? Number(string name) => this[name] is not { } text ? null
        : long.TryParse(text, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out var number) ? number
        : throw new Refusal(400, "parameter_invalid_integer", $"Invalid integer: {text}");

    public bool Expands(string what) => Values.Any(v => v.Key.StartsWith("expand[", StringComparison.Ordinal) && v.Value == what);

    /// <summary>metadata and its kin: "subscription_data[metadata][name]" under "subscription_data[metadata]".</summary>
    public Dictionary<string, string> Under(string name) => Values
        .Where(v => v.Key.StartsWith(name + "[", StringComparison.Ordinal) && v.Key.EndsWith(']'))
        .ToDictionary(v => v.Key[(name.Length + 1)..^1], v => v.Value, StringComparer.Ordinal);

    /// <summary>Newest first, so many after the one named, as the API's lists are.</summary>
    public (IReadOnlyList<T> Rows, bool HasMore) Page<T>(IEnumerable<T> oldestFirst, Func<T, string> id)
    {
        var limit = (int)Math.Clamp(Number("limit") ?? DefaultLimit, 1, MostLimit);
        var rows = oldestFirst.Reverse();
        if (this["starting_after"] is { } after)
            rows = rows.SkipWhile(r => id(r) != after).Skip(1);
        var page = rows.Take(limit + 1).ToList();
        return (page.Count > limit ? page[..limit] : page, page.Count > limit);
    }
}
