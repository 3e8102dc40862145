using LibraryShelf.Core.Catalog;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Downloads of one version that were started, and that were finished, on one day of the shop's calendar; or of a whole month as one archive: then the title is
/// <see cref="WholeMonths"/>, the number the month ("2026-12"), and there is no slug.
/// </summary>
/// <param name="StartedFree">Of those started, what was free for everyone; the rest was for members.</param>
/// <param name="FinishedFree">The same of those finished.</param>
public sealed record NumbersLine(LocalDate Day, string Slug, string Title, string Number, int Started, int Finished, int StartedFree, int FinishedFree)
{
    public static string WholeMonths => T("Whole months");

    public int StartedMembers => Started - StartedFree;

    public int FinishedMembers => Finished - FinishedFree;
}

/// <summary>A box that can be chosen to look at alone.</summary>
public sealed record NumbersBox(string Slug, string Title);

public sealed record DayFigures(LocalDate Day, int Started, int Finished);

public sealed record BoxFigures(string Slug, string Title, int Started, int Finished, IReadOnlyList<VersionFigures> Versions)
{
    /// <summary>Of those finished; the others were for members.</summary>
    public int FinishedFree => Versions.Sum(v => v.FinishedFree);
}

/// <param name="FinishedFree">Of those finished; the others were for members.</param>
public sealed record VersionFigures(string Number, int Started, int Finished, int FinishedFree);

/// <summary>Sums of what <see cref="DayCount"/> counts, bytes as handed over.</summary>
public sealed record DownloadSums(int Started, int Finished, int Requests, int Resumes, long Bytes)
{
    public static DownloadSums operator +(DownloadSums a, DownloadSums b)
    {
        ArgumentNullException.ThrowIfNull(a);
        ArgumentNullException.ThrowIfNull(b);
        return new(a.Started + b.Started, a.Finished + b.Finished, a.Requests + b.Requests, a.Resumes + b.Resumes, a.Bytes + b.Bytes);
    }

    public static DownloadSums None { get; } = new(0, 0, 0, 0, 0);
}

/// <summary>Different signed-in people who started a download in a month of the shop's calendar.</summary>
/// <param name="Free">Of them, who started what was free for everyone; null: not known.</param>
/// <param name="Members">Of them, who started something by a right of their own; who did both is in both. Null: not known.</param>
public sealed record PeopleOfMonth(YearMonth Month, int SignedIn, int? Free, int? Members);

/// <summary>Different people who started a download in a day, and how many of them were signed in.</summary>
/// <param name="Free">As in <see cref="PeopleOfMonth"/>, of all these people.</param>
/// <param name="Members">The same.</param>
public sealed record PeopleOfDay(LocalDate Day, int People, int SignedIn, int? Free, int? Members);

/// <summary>What a gigabyte (10^9 bytes) that goes out costs the maker, in millionths of a currency.</summary>
public sealed record GigabytePrice(long Millionths, string Currency)
{
    /// <summary>What so many bytes cost, in the currency's unit, not rounded.</summary>
    public decimal Of(long bytes) => (decimal)bytes / 1_000_000_000 * Millionths / 1_000_000;
}

/// <summary>
/// What is known of downloads in <paramref name="Range"/>, days of <paramref name="TimeZone"/>. <paramref name="Days"/> has every day, oldest first, also
/// those on which nothing happened; <paramref name="Boxes"/> every box with a download, most finished first, its versions the highest number first.
/// <paramref name="People"/> has every day too. <paramref name="Months"/> are all months that the range touches, whole, as far as anybody was seen in them. <paramref name="Currency"/> is the shop's, an ISO 4217 code. <paramref name="Uncounted"/> days of all there are
/// were not counted yet, after an upgrade or a change of the time zone, and stand in nothing. <paramref name="By"/> are the sums by whose they were; robots' and the maker's own stand in nothing else.
/// </summary>
public sealed record DownloadNumbers(
    DayRange Range, string TimeZone, NumbersBox? Chosen, IReadOnlyList<NumbersBox> Choices,
    IReadOnlyList<DayFigures> Days, IReadOnlyList<BoxFigures> Boxes, IReadOnlyDictionary<FetchedBy, DownloadSums> By,
    IReadOnlyList<PeopleOfMonth> Months, IReadOnlyList<PeopleOfDay> People, string Currency, GigabytePrice? Price, int Uncounted)
{
    /// <summary>The day with most people, the first of several; null: none had any.</summary>
    public PeopleOfDay? MostPeople => People.MaxBy(p => p.People) is { People: > 0 } most ? most : null;

    /// <summary>Of listeners: free and members.</summary>
    public DownloadSums Sums => Of(FetchedBy.Free) + Of(FetchedBy.Members);

    public int Started => Sums.Started;

    public int Finished => Sums.Finished;

    /// <summary>Handed over to anybody, robots and the maker herself too, of downloads started in these days; a hosting account bills by the day on which bytes went out.</summary>
    public long AllBytes => By.Values.Sum(s => s.Bytes);

    public DownloadSums Of(FetchedBy by) => By.GetValueOrDefault(by) ?? DownloadSums.None;
}
