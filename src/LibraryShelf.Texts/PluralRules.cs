using System.Globalization;

namespace LibraryShelf.Texts;

/// <summary>
/// Which form of a noun goes with a number: rules in the syntax of Unicode's CLDR (UTS #35 part 3, "Language Plural Rules"), as its files give them for each language,
/// for whole numbers and those written with decimals. Operands e and c are 0, because no number is abbreviated here.
/// </summary>
public sealed class PluralRules
{
    private readonly List<(string Category, string[][] Condition)> _rules = [];

    /// <param name="rules">By category, without "other"; samples ("@integer …") are passed over.</param>
    /// <exception cref="FormatException">A rule can't be read; the message says which.</exception>
    public PluralRules(IEnumerable<KeyValuePair<string, string>> rules)
    {
        foreach (var (category, rule) in rules)
        {
            var condition = rule.Split('@')[0].Trim();
            if (category == Wording.Other || condition.Length == 0)
                continue;
            _rules.Add((category, [.. condition.Split(" or ").Select(all => all.Split(" and "))]));
        }
        // Whatever can't be read shows now, not at the first number.
        foreach (var (category, condition) in _rules)
            foreach (var relation in condition.SelectMany(all => all))
                if (!TryHold(relation, 1, out _))
                    throw new FormatException($"The rule of “{category}” can’t be read: {relation.Trim()}");
    }

    /// <summary>Whether some number may be of this category.</summary>
    internal bool Has(string category) => category == Wording.Other || _rules.Exists(r => r.Category == category);

    public string CategoryOf(decimal count)
    {
        count = Math.Abs(count);
        foreach (var (category, condition) in _rules)
            if (condition.Any(all => all.All(relation => TryHold(relation, count, out var holds) && holds)))
                return category;
        return Wording.Other;
    }

    /// <summary>relation = operand ['%' value] ('=' | '!=') range_list.</summary>
    private static bool TryHold(string relation, decimal count, out bool holds)
    {
        holds = false;
        var isNot = relation.Contains("!=", StringComparison.Ordinal);
        var sides = relation.Split(isNot ? "!=" : "=");
        if (sides.Length != 2)
            return false;
        var left = sides[0].Split('%');
        if (Operand(left[0].Trim(), count) is not { } value || left.Length > 2)
            return false;
        if (left.Length == 2)
        {
            if (!decimal.TryParse(left[1].Trim(), NumberStyles.None, CultureInfo.InvariantCulture, out var divisor) || divisor == 0)
                return false;
            value %= divisor;
        }
        var isIn = false;
        foreach (var range in sides[1].Split(','))
        {
            var ends = range.Trim().Split("..");
            if (!decimal.TryParse(ends[0], NumberStyles.None, CultureInfo.InvariantCulture, out var low) || ends.Length > 2
                || !decimal.TryParse(ends[^1], NumberStyles.None, CultureInfo.InvariantCulture, out var high))
                return false;
            // A range has its whole numbers only.
            isIn |= value >= low && value <= high && value == decimal.Truncate(value);
        }
        holds = isIn != isNot;
        return true;
    }

    /// <summary>n: the number; i: its whole part; v, f: how many decimals are written, and they as a number; w, t: the same without zeros at the end; e, c: the power of ten of an abbreviation.</summary>
    private static decimal? Operand(string name, decimal count)
    {
        var written = count.ToString(CultureInfo.InvariantCulture);
        var decimals = written.IndexOf('.', StringComparison.Ordinal) is var at and >= 0 ? written[(at + 1)..] : "";
        var trimmed = decimals.TrimEnd('0');
        return name switch
        {
            "n" => count,
            "i" => decimal.Truncate(count),
            "v" => decimals.Length,
            "w" => trimmed.Length,
            "f" => AsNumber(decimals),
            "t" => AsNumber(trimmed),
            "e" or "c" => 0,
            _ => null,
        };
    }

    private static decimal AsNumber(string digits) => digits.Length == 0 ? 0 : decimal.Parse(digits, NumberStyles.None, CultureInfo.InvariantCulture);
}
