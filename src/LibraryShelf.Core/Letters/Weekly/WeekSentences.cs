using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Letters.Weekly;

/// <summary>One thing worth knowing, and the page that says more.</summary>
/// <param name="Words">A sentence or two.</param>
/// <param name="Page">Under Numbers, as people read it.</param>
/// <param name="Path">Its address on the shelf.</param>
internal sealed record WeekSentence(string Words, string Page, string Path);

/// <summary>
/// What a week's figures say, the most telling first: pure. The rules, their bounds and their order are the house's own and stand in docs/counting.md under
/// "The week's letter"; no sentence has a figure that its page, or the rows, would not give.
/// </summary>
internal static class WeekSentences
{
    /// <summary>As many are told.</summary>
    public const int Most = 3;

    private const string Root = "/workbench/numbers/";

    public static IReadOnlyList<WeekSentence> Of(WeekFacts facts) => [.. All(facts).OfType<WeekSentence>().Take(Most)];

    private static IEnumerable<WeekSentence?> All(WeekFacts facts) =>
    [
        Renewals(facts), Downloads(facts), Drop(facts), Members(facts), Unfinished(facts), Behind(facts), Searched(facts), Wanted(facts),
    ];

    private static WeekSentence? Renewals(WeekFacts facts) => facts.Moves is { Failed: > 0 } moves
        ? new(moves.Recovered switch
        {
            0 => T($"{Many(moves.Failed, "renewal")} failed last week; none of them is paid by now."),
            1 => T($"{Many(moves.Failed, "renewal")} failed last week; one of them is paid by now."),
            var recovered => T($"{Many(moves.Failed, "renewal")} failed last week; {recovered} of them are paid by now."),
        }, T("Members"), $"{Root}members")
        : null;

    /// <summary>A fifth more or fewer, and ten at least: of few downloads, one more is already a fifth. A week usual for a shelf has been on it twice.</summary>
    private static WeekSentence? Downloads(WeekFacts facts)
    {
        if (facts.WeeksBefore < 2)
            return null;
        var (finished, usual) = (facts.Finished, facts.FinishedBefore / (decimal)facts.WeeksBefore);
        var change = finished - usual;
        if (Math.Abs(change) < 10 || Math.Abs(change) * 5 < usual)
            return null;
        var percent = usual == 0 ? 0 : Math.Round(100 * Math.Abs(change) / usual, MidpointRounding.AwayFromZero);
        var beside = (usual, change) switch
        {
            (0, _) => T($"None were in the {Number(facts.WeeksBefore)} weeks before."),
            (_, > 0) => T($"That is {percent:0} % more than in a usual week: {facts.FinishedBefore:N0} in the {Number(facts.WeeksBefore)} before it."),
            _ => T($"That is {percent:0} % fewer than in a usual week: {facts.FinishedBefore:N0} in the {Number(facts.WeeksBefore)} before it."),
        };
        var words = finished == 1 ? T($"1 download was finished last week. {beside}") : T($"{Many(finished, "download")} were finished last week. {beside}");
        return new(words, T("Downloads"), $"{Root}downloads?{Query(new(facts.Week.WeeksBefore(facts.WeeksBefore).First, facts.Week.Days.Last))}");
    }

    /// <summary>Over the longest time that is over for it; five in a hundred more or fewer, of ten people at least.</summary>
    private static WeekSentence? Drop(WeekFacts facts)
    {
        if (facts.Drop is not { Holders: >= 10 } line)
            return null;
        var which = line.AreOver.Count(isOver => isOver) - 1;
        if (which < 0 || facts.Drops.UsuallyBefore(line, which) is not { } usual || Math.Abs(line.InAHundred(line.After[which]) - usual) < 5)
            return null;
        var (share, days) = (line.InAHundred(line.After[which]), DropUptake.Days[which]);
        return new(T($"{share} in a hundred took this month’s drop within {Many(days, "day")}; the drops before it usually came to {usual}."), T("Drops"), $"{Root}drops");
    }

    private static WeekSentence? Members(WeekFacts facts)
    {
        var (moves, parts) = (facts.Moves, new List<string>());
        // The first names whom it counts, "2 people joined"; those after it need not, "1 left".
        Add(moves.Joined, who => T($"{who} joined"));
        Add(moves.Returned, who => T($"{who} came back"));
        Add(moves.Left, who => T($"{who} left"));
        if (parts.Count == 0)
            return null;
        var said = parts.Count == 1 ? parts[0] : T($"{string.Join(", ", parts[..^1])} and {parts[^1]}");
        return new(T($"{said} last week: {Many(moves.Members, "member")} now."), T("Members"), $"{Root}members");

        void Add(int people, Func<string, string> did)
        {
            if (people > 0)
                parts.Add(did(parts.Count > 0 ? Count(people) : $"{Count(people)} {Noun(people, "person", "people")}"));
        }
    }

    /// <summary>The largest share; a fifth and ten begun at least.</summary>
    private static WeekSentence? Unfinished(WeekFacts facts) => facts.Settled.Where(b => b.Begun >= 10 && b.NotFinished * 5 >= b.Begun)
        .OrderByDescending(b => b.PercentNotFinished).ThenByDescending(b => b.Begun).ThenBy(b => b.Title, StringComparer.Ordinal).FirstOrDefault() is { } box
        ? new(box.NotFinished == 1
            ? T($"{LetterWords.Line(box.Title)}: of {Many(box.Begun, "download")} begun in the four weeks to {Day(facts.Week.FourBefore.Last)}, 1 was never finished.")
            : T($"{LetterWords.Line(box.Title)}: of {Many(box.Begun, "download")} begun in the four weeks to {Day(facts.Week.FourBefore.Last)}, {Count(box.NotFinished)} were never finished."), T("Libraries"), $"{Root}libraries?{Query(facts.Week.FourBefore)}")
        : null;

    /// <summary>Most people behind first; thirty days out, and ten people at least.</summary>
    private static WeekSentence? Behind(WeekFacts facts) => facts.Behind
        .Where(s => s is { People: >= 10, Latest.OutOn: { } day } && Period.DaysBetween(day, facts.Today) >= 30 && s.Has(s.Latest) * 2 < s.People)
        .OrderByDescending(s => s.People - s.Has(s.Latest!)).ThenBy(s => s.Box!.Title, StringComparer.Ordinal).FirstOrDefault() is { } shares
        ? new(BehindWords($"{LetterWords.Line(shares.Box!.Title)} {shares.Latest!.Number}", Day(shares.Latest.OutOn!.Value), shares.Has(shares.Latest), Count(shares.People)), T("Versions"), $"{Root}versions?library={shares.Box.Slug}")
        : null;

    private static string BehindWords(string version, string day, int have, string people) => have switch
    {
        0 => T($"{version} is out since {day}; none of the {people} people who have the library have that version."),
        1 => T($"{version} is out since {day}; 1 of the {people} people who have the library has that version."),
        _ => T($"{version} is out since {day}; {Count(have)} of the {people} people who have the library have that version."),
    };

    /// <summary>Words alone: anybody may type an address into the search, and a mail program would make a link of it.</summary>
    private static WeekSentence? Searched(WeekFacts facts) => facts.Searches.FirstOrDefault(s => s.Word != Sightings.Others && s.Word.AsSpan().IndexOfAny("/\\:.@") < 0) is { Times: >= 3 } seen
        ? new(T($"“{LetterWords.Line(seen.Word)}” was looked for in vain {Count(seen.Times)} times last week."), T("Libraries"), $"{Root}libraries?{Query(facts.Week.Days)}")
        : null;

    private static WeekSentence? Wanted(WeekFacts facts) => facts.Boxes.Where(b => b.Wanted > 0).OrderByDescending(b => b.Wanted).ThenBy(b => b.Title, StringComparer.Ordinal).FirstOrDefault() is { } box
        ? new(box.Wanted switch
        {
            1 => T($"Most wanted last week: {LetterWords.Line(box.Title)}, finished once whole."),
            2 => T($"Most wanted last week: {LetterWords.Line(box.Title)}, finished twice whole."),
            var times => T($"Most wanted last week: {LetterWords.Line(box.Title)}, finished {Count(times)} times whole."),
        }, T("Libraries"), $"{Root}libraries?{Query(facts.Week.Days)}")
        : null;

    private static string Number(int weeks) => weeks switch { 2 => T("two"), 3 => T("three"), _ => T("four") };

    internal static Counted Many(int count, string one) => new(count, $"{Count(count)} {Noun(count, one, one + "s")}");

    internal static string Day(LocalDate day) => DayWords.Day(day);

    private static string Count(int count) => count.ToString("N0", Say.Culture);

    private static string Query(DayRange days) => $"from={Iso(days.First)}&to={Iso(days.Last)}";

    private static string Iso(LocalDate day) => LocalDatePattern.Iso.Format(day);
}
