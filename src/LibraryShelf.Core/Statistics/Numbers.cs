using LibraryShelf.Core.Catalog;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Downloads of one version that were started, and that were finished, on one day of the shop's calendar; or of a whole month as one archive: then the title is
/// <see cref="WholeMonths"/>, the number the month ("2026-12"), and there is no slug.
/// </summary>
public sealed record NumbersLine(LocalDate Day, string Slug, string Title, string Number, int Started, int Finished)
{
    public const string WholeMonths = "Whole months";
}

/// <summary>A box that can be chosen to look at alone.</summary>
public sealed record NumbersBox(string Slug, string Title);

public sealed record DayFigures(LocalDate Day, int Started, int Finished);

public sealed record BoxFigures(string Slug, string Title, int Started, int Finished, IReadOnlyList<VersionFigures> Versions);

public sealed record VersionFigures(string Number, int Started, int Finished);

/// <summary>
/// What is known of downloads from <paramref name="First"/> to <paramref name="Last"/>, both included, days of
/// <paramref name="TimeZone"/>. Everything shown is a sum over <paramref name="Lines"/>, which leave out days without any.
/// </summary>
public sealed record Numbers(
    LocalDate First, LocalDate Last, string TimeZone, NumbersBox? Chosen, IReadOnlyList<NumbersBox> Boxes, IReadOnlyList<NumbersLine> Lines)
{
    public int Started => Lines.Sum(l => l.Started);

    public int Finished => Lines.Sum(l => l.Finished);

    /// <summary>Every day, oldest first, also those on which nothing happened.</summary>
    public IReadOnlyList<DayFigures> ByDay()
    {
        var days = Lines.ToLookup(l => l.Day);
        return [.. Enumerable.Range(0, Period.DaysBetween(First, Last) + 1).Select(First.PlusDays)
            .Select(day => new DayFigures(day, days[day].Sum(l => l.Started), days[day].Sum(l => l.Finished)))];
    }

    /// <summary>Every box with a download, most finished first; its versions, the highest number first.</summary>
    public IReadOnlyList<BoxFigures> ByBox() =>
    [
        .. Lines.GroupBy(l => (l.Slug, l.Title))
            .Select(box => new BoxFigures(box.Key.Slug, box.Key.Title, box.Sum(l => l.Started), box.Sum(l => l.Finished),
            [
                .. box.GroupBy(l => l.Number, StringComparer.Ordinal)
                    .Select(v => new VersionFigures(v.Key, v.Sum(l => l.Started), v.Sum(l => l.Finished)))
                    .OrderByDescending(v => v.Number, ReleaseNumbers.ByPrecedence),
            ]))
            .OrderByDescending(b => b.Finished).ThenByDescending(b => b.Started).ThenBy(b => b.Title, StringComparer.Ordinal),
    ];
}
