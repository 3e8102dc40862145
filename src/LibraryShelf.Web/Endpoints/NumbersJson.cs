using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Web.Pages.Workbench.Numbers;
using NodaTime;

namespace LibraryShelf.Web.Endpoints;

/// <summary>
/// The figures as programs read them: the same that the pages and their files show, from the same readers. Days are "2026-11-25", months "2026-11", of the
/// shop's time zone; money is in its currency's smallest unit; what is not known is null. No field names a person. Fields are added, never renamed.
/// </summary>
internal static class NumbersJson
{
    /// <summary>Those of <see cref="FreeRow.Joined"/>.</summary>
    private static readonly int[] FreeDays = [7, 30, 90];

    internal sealed record Sums(int Started, int Finished, int Requests, int Resumes, long Bytes);

    internal sealed record MostInADay(DateOnly Day, int People, int SignedIn);

    /// <param name="Free">Of them, who started something free; null, as of a day: counted before this was kept. Who did both is in both.</param>
    internal sealed record SignedIn(string Month, int People, int? Free, int? Members);

    /// <param name="Box">Its slug; null: a whole month as one archive, <paramref name="Version"/> the month.</param>
    internal sealed record Line(
        DateOnly Day, string? Box, string Title, string Version, int Started, int Finished, int StartedFree, int FinishedFree, int StartedMembers, int FinishedMembers);

    internal sealed record PeopleOfDay(DateOnly Day, int People, int SignedIn, int? Free, int? Members);

    internal sealed record Answer(string Status, int Times);

    /// <param name="Answers">Null with one box: answers are counted of all links together.</param>
    /// <param name="Lines">Written as they are read: of ten years they are many.</param>
    internal sealed record Downloads(
        DateOnly From, DateOnly To, string TimeZone, string? Library, int UncountedDays, int Started, int Finished, long AllBytes, IReadOnlyDictionary<string, Sums> By,
        MostInADay? MostPeopleInADay, IReadOnlyList<SignedIn> SignedInByMonth, IReadOnlyList<PeopleOfDay> PeopleByDay, IReadOnlyList<Answer>? Answers, IAsyncEnumerable<Line> Lines)
    {
        /// <summary>The same of the second range; null: none was asked for, or nothing is known of it.</summary>
        public Downloads? Beside { get; init; }
    }

    /// <param name="NotFinishedKnown">Of those not finished, of so many it is known how far they came: the next three are of these.</param>
    /// <param name="WholeNotFinished">Of those not finished, whole libraries; the last two are of these.</param>
    internal sealed record Box(
        string Slug, string Title, long WholeBytes, int FinishedWhole, int FinishedUpdates, int Begun, int NotFinished, int Resumes, int NotFinishedKnown, int NotFinishedAskedAgain,
        long NotFinishedBytesCovered, long NotFinishedBytesInAll, int WholeNotFinished, int WholeNotFinishedKnown, int WholeNotFinishedAskedAgain,
        int FinishedWholeFree, int FinishedWholeMembers, int FinishedUpdatesFree, int FinishedUpdatesMembers, int BegunFree, int BegunMembers, int NotFinishedFree, int NotFinishedMembers);

    internal sealed record CameFrom(string Host, string Title, int Times);

    internal sealed record LookedFor(string Words, int Times);

    internal sealed record Libraries(DateOnly From, DateOnly To, string TimeZone, IReadOnlyList<Box> Boxes, IReadOnlyList<CameFrom> CameFrom, IReadOnlyList<LookedFor> Searches, int UncountedDays)
    {
        /// <summary>The same of the second range; null: none was asked for, or nothing is known of it.</summary>
        public Libraries? Beside { get; init; }

        /// <summary>Of days before it hosts and searches were let go; null: of no day that the shelf knows.</summary>
        public DateOnly? WordsKeptFrom { get; init; }
    }

    /// <param name="HadTheBox">People who had the box when the version came out.</param>
    internal sealed record Uptake(string Version, DateOnly? OutOn, int HadTheBox, int HaveItByNow, int? DaysToHalf, int? DaysToNineInTen);

    internal sealed record VersionLine(DateOnly Day, string Version, int People, int Of);

    internal sealed record Versions(
        DateOnly From, DateOnly To, string TimeZone, string? Library, string? Latest, int People, IReadOnlyList<Uptake> Uptakes, IReadOnlyList<VersionLine> Lines)
    {
        /// <summary>The same of the second range; null: none was asked for, or nothing is known of it.</summary>
        public Versions? Beside { get; init; }
    }

    internal sealed record Sum(string Currency, long Minor, int Memberships);

    internal sealed record MonthLine(
        string Month, bool IsOver, int AtStart, int AtStartGiven, int Joined, int JoinedGiven, int Returned, int Left, int LeftGiven, double? Churn,
        int? FailedRenewals, int? RecoveredRenewals, IReadOnlyList<Sum> Income);

    internal sealed record Stay(string JoinedIn, int MonthsLater, int Joined, int Members);

    internal sealed record Within(int Days, int People, bool IsOver);

    internal sealed record Free(string FirstFreeDownloadIn, int People, IReadOnlyList<Within> JoinedWithin);

    internal sealed record LeftAfter(int Months, int People);

    internal sealed record Members(
        string From, string To, string TimeZone, int Paying, int Given, IReadOnlyList<Sum> Income, int WithoutPrice, IReadOnlyList<MonthLine> Months,
        IReadOnlyList<Stay> Stays, IReadOnlyList<Free> Free, IReadOnlyList<LeftAfter> LeftAfter)
    {
        /// <summary>The same of the second range; null: none was asked for, or nothing is known of it.</summary>
        public Members? Beside { get; init; }
    }

    /// <param name="UsuallyBefore">What the drops before it came to after as many days, in a hundred, the middle of them; null: of none is that known.</param>
    internal sealed record DropWithin(int Days, int People, bool IsOver, int? UsuallyBefore);

    internal sealed record Drop(string Month, IReadOnlyList<string> Libraries, DateTimeOffset SentAt, int Holders, IReadOnlyList<DropWithin> Within, int ByNow);

    internal sealed record Drops(string From, string To, string TimeZone, int Uncounted, IReadOnlyList<Drop> Lines)
    {
        /// <summary>The same of the second range; null: none was asked for, or nothing is known of it.</summary>
        public Drops? Beside { get; init; }
    }

    public static Downloads Of(DownloadNumbers numbers, IAsyncEnumerable<NumbersLine> lines, IReadOnlyList<SeenTimes>? answers) => new(
        Day(numbers.Range.First), Day(numbers.Range.Last), numbers.TimeZone, numbers.Chosen?.Slug, numbers.Uncounted, numbers.Started, numbers.Finished, numbers.AllBytes,
        Enum.GetValues<FetchedBy>().ToDictionary(by => by switch { FetchedBy.Free => "free", FetchedBy.Members => "members", FetchedBy.Robots => "robots", _ => "maker" }, by => Of(numbers.Of(by))),
        numbers.MostPeople is { } most ? new(Day(most.Day), most.People, most.SignedIn) : null, [.. numbers.Months.Select(m => new SignedIn(Iso(m.Month), m.SignedIn, m.Free, m.Members))],
        [.. numbers.People.Select(p => new PeopleOfDay(Day(p.Day), p.People, p.SignedIn, p.Free, p.Members))],
        answers is null ? null : [.. answers.Select(a => new Answer(a.Word, a.Times))],
        lines.Select(l => new Line(Day(l.Day), l.Slug.Length == 0 ? null : l.Slug, l.Title, l.Number, l.Started, l.Finished, l.StartedFree, l.FinishedFree, l.StartedMembers, l.FinishedMembers)));

    public static Libraries Of(LibraryNumbers numbers) => new(
        Day(numbers.Range.First), Day(numbers.Range.Last), numbers.TimeZone,
        [.. numbers.Boxes.Select(b => new Box(b.Slug, b.Title, b.Size, b.Wanted, b.Updated, b.Begun, b.NotFinished, b.Resumes,
            b.Left.Known, b.Left.Again, b.Left.Covered, b.Left.Length, b.Whole.NotFinished, b.Whole.Left.Known, b.Whole.Left.Again,
            b.Free.Wanted, b.Wanted - b.Free.Wanted, b.Free.Updated, b.Updated - b.Free.Updated, b.Free.Begun, b.Begun - b.Free.Begun, b.Free.NotFinished, b.NotFinished - b.Free.NotFinished))],
        [.. numbers.Referrers.Select(r => new CameFrom(r.Host, r.Title, r.Times))], [.. numbers.Searches.Select(s => new LookedFor(s.Word, s.Times))], numbers.UncountedDays);

    public static Versions Of(VersionShares shares) => new(
        Day(shares.Range.First), Day(shares.Range.Last), shares.TimeZone, shares.Box?.Slug, shares.Latest?.Number, shares.People,
        [.. shares.Uptakes.Select(u => new Uptake(u.Version.Number, u.Version.OutOn is { } day ? Day(day) : null, u.Had, u.Have, u.DaysToHalf, u.DaysToMost))],
        [.. shares.Days.SelectMany(d => shares.Versions.Select((v, i) => new VersionLine(Day(d.Day), v.Number, d.People[i], d.Total))).Where(l => l.People > 0)]);

    public static Members Of(MemberNumbers numbers) => new(
        Iso(numbers.First), Iso(numbers.Last), numbers.TimeZone, numbers.Paying, numbers.Given, Of(numbers.Income), numbers.WithoutPrice,
        [
            .. numbers.Months.Select(m => new MonthLine(Iso(m.Month), m.IsOver, m.AtStart, m.GivenAtStart, m.Joined, m.JoinedGiven, m.Returned, m.Left, m.LeftGiven,
                m.Churn is { } churn ? Math.Round(churn, 4) : null, m.Failed, m.Recovered, Of(m.Income))),
        ],
        [.. numbers.Stays.SelectMany(r => r.Members.Select((members, n) => new Stay(Iso(r.Month), n, r.Joined, members)))],
        [.. numbers.Free.Select(r => new Free(Iso(r.Month), r.People, Of(FreeDays, r.Joined, r.AreOver)))],
        [.. numbers.LeftAfter.Select(l => new LeftAfter(l.Months, l.People))]);

    public static Drops Of(DropNumbers numbers) => new(Iso(numbers.First), Iso(numbers.Last), numbers.TimeZone, numbers.Waiting,
        [.. numbers.Lines.Select(l => new Drop(Iso(l.Month), l.Titles, l.SentAt, l.Holders,
            [.. DropUptake.Days.Select((d, i) => new DropWithin(d, l.After[i], l.AreOver[i], numbers.UsuallyBefore(l, i)))], l.ByNow))]);

    private static Sums Of(DownloadSums sums) => new(sums.Started, sums.Finished, sums.Requests, sums.Resumes, sums.Bytes);

    private static IReadOnlyList<Sum> Of(IEnumerable<MonthlyIncome> income) => [.. income.Select(i => new Sum(i.Currency, i.Minor, i.Memberships))];

    private static IReadOnlyList<Within> Of(IReadOnlyList<int> days, IReadOnlyList<int> people, IReadOnlyList<bool> areOver) =>
        [.. days.Select((d, i) => new Within(d, people[i], areOver[i]))];

    internal static DateOnly Day(LocalDate day) => day.ToDateOnly();

    private static string Iso(YearMonth month) => MemberNumbersWords.Iso(month);
}
