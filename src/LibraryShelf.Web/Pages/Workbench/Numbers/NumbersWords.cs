using System.Globalization;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>The figures of downloads in sentences, and as a plain file.</summary>
internal static class NumbersWords
{
    /// <summary>One figure, of these days and of those beside them, how they differ in words, and its rule (docs/counting.md); for a file it has a word and plain numbers.</summary>
    internal sealed record Sum(string Key, string What, string These, string Beside, string Change, string Rule, string Raw, string RawBeside);

    /// <summary>What the figures say, said; only what is known.</summary>
    public static string Said(DownloadNumbers numbers)
    {
        var (finished, days) = (Plural.Opening(numbers.Finished, "download"), Plural.Of(numbers.Range.Days, "day"));
        var said = numbers.Chosen is { } box
            ? T($"{finished} of {box.Title} finished in {days}, {numbers.Started} started.") : T($"{finished} finished in {days}, {numbers.Started} started.");
        var versions = numbers.Boxes.SelectMany(b => b.Versions.Select(v => (b.Title, v.Number, v.Finished))).ToList();
        return versions.Count > 1 && versions.MaxBy(v => v.Finished) is { Finished: > 1 } most
            ? $"{said} {T($"Most finished: {most.Title} {most.Number}, {most.Finished} times.")}" : said;
    }

    /// <summary>Who is counted in the picture of people.</summary>
    public static string PeopleADay(DownloadNumbers numbers, LocalDate today) => (numbers.Chosen is not null, numbers.Range.Last == today) switch
    {
        (false, false) => T("Who started a download in that day, each once"),
        (false, true) => T("Who started a download in that day, each once. Today is not over."),
        (true, false) => T("Who started a download in that day, each once, of this box"),
        (true, true) => T("Who started a download in that day, each once, of this box. Today is not over."),
    };

    /// <summary>How much more or less than beside it, by the rule of all such differences: "That is 12 % more than in the 60 days from 1 August 2026, which had 25."</summary>
    public static string Compared(DownloadNumbers numbers, DownloadNumbers other)
    {
        var (days, from) = (Plural.Of(other.Range.Days, "day"), Day(other.Range.First));
        if (other.Range.Days < numbers.Range.Days)
            return T($"Beside it in the {days} from {from}, which are not over yet: {other.Finished}.");
        if (other.Finished == 0)
            return T($"None were finished in the {days} from {from}.");
        if (numbers.Finished == 0)
            return T($"There were {other.Finished} in the {days} from {from}.");
        var change = Beside.Change(numbers.Finished, other.Finished);
        return Beside.IsAsMany(numbers.Finished, other.Finished)
            ? T($"That is {change} as in the {days} from {from}, which had {other.Finished}.")
            : T($"That is {change} than in the {days} from {from}, which had {other.Finished}.");
    }

    public static IReadOnlyList<Sum> Sums(DownloadNumbers numbers, DownloadNumbers? other)
    {
        var notOver = other is not null && other.Range.Days < numbers.Range.Days ? T("not over yet") : null;
        return
        [
            Count("started", T("Started"), n => n.Started, T("More than two bytes were handed over; counted on the day of the first answer with any, be it a probe. Pressed twice within 30 seconds counts once, the later.")),
            .. Apart("started", s => s.Started),
            Count("finished", T("Finished"), n => n.Finished, T("Every byte was handed over at least once, in however many requests; counted on the day of the last, whenever it was started.")),
            .. Apart("finished", s => s.Finished),
            Count("requests", T("Requests"), n => n.Sums.Requests, T("Answers with more than two bytes, of downloads started in these days, however long those took, double clicks too. Asking about a file without fetching it, probing it, and what was refused, count for nothing.")),
            .. Apart("requests", s => s.Requests),
            Count("resumes", T("Went on after a break"), n => n.Sums.Resumes, T("Requests that went on where an earlier one broke off, and proved it, of downloads started in these days, double clicks too.")),
            .. Apart("resumes", s => s.Resumes),
            Of("most_people_in_a_day", T("Most people in a day"), n => n.MostPeople is { } most
                    ? string.Create(Say.Culture, $"{most.People:N0} ({Day(most.Day)})") : "0", n => n.MostPeople?.People ?? 0,
                T("Signed in, or told apart by network and program within that day alone. Behind an unknown proxy visitors can’t be told apart and are left out.")),
            Bytes("bytes", T("Handed over"), n => n.AllBytes, T("All bytes that went out of downloads started in these days, however long those took: also in what was not finished, to robots and to you. A host’s bill dates bytes by the day they went out.")),
            Bytes("bytes_free", T("of them free"), n => n.Of(FetchedBy.Free).Bytes, T("It was free for everyone when the button was pressed.")),
            Bytes("bytes_members", T("of them for members"), n => n.Of(FetchedBy.Members).Bytes, T("For any other reason: a member, a month paid for, an early guest. Robots’ and yours are in neither.")),
            .. CostLine(),
            Count("started_by_robots", T("Robots"), n => n.Of(FetchedBy.Robots).Started, T("Started by programs that call themselves robots, or that start more than 40 downloads in a day, double clicks too. In no figure above but the bytes. Who is signed in is never one.")),
        ];

        IEnumerable<Sum> Apart(string key, Func<DownloadSums, int> figure) =>
        [
            Count(key + "_free", T("of them free"), n => figure(n.Of(FetchedBy.Free)), T("It was free for everyone when the button was pressed.")),
            Count(key + "_members", T("of them for members"), n => figure(n.Of(FetchedBy.Members)), T("For any other reason: a member, a month paid for, an early guest.")),
        ];

        IEnumerable<Sum> CostLine() => numbers.Price is null ? [] :
            [Of($"cost_{numbers.Price.Currency}", T("What that costs"), n => Cost(n.Price!, n.AllBytes), n => decimal.Round(n.Price!.Of(n.AllBytes), 6), T($"At your price of {numbers.Price.Currency} {numbers.Price.Millionths / 1_000_000m:0.######} for a gigabyte of 1,000,000,000 bytes, of the bytes above: of downloads started in these days, and of no other traffic."), n => n.AllBytes)];

        Sum Count(string key, string what, Func<DownloadNumbers, int> figure, string rule) => Of(key, what, n => figure(n).ToString("N0", Say.Culture), n => figure(n), rule);

        Sum Bytes(string key, string what, Func<DownloadNumbers, long> figure, string rule) => Of(key, what, n => Sizes.Of(figure(n)), n => figure(n), rule, figure);

        // A cost differs as its bytes do; a few bytes are no few people.
        Sum Of(string key, string what, Func<DownloadNumbers, string> figure, Func<DownloadNumbers, decimal> raw, string rule, Func<DownloadNumbers, long>? bytes = null) =>
            new(key, what, figure(numbers), other is null ? "" : figure(other), other is null ? "" : notOver ?? (bytes is null ? Beside.Change((long)raw(numbers), (long)raw(other)) : Beside.Change(bytes(numbers), bytes(other), isMoney: true)),
                rule, Raw(raw(numbers)), other is null ? "" : Raw(raw(other)));

        static string Raw(decimal value) => value.ToString("0.######", CultureInfo.InvariantCulture);
    }

    /// <summary>Each box and version of either range, those of the first in their order first; what only the second has, had none in the first.</summary>
    public static IReadOnlyList<BoxFigures> Boxes(DownloadNumbers numbers, DownloadNumbers? other)
    {
        var then = other?.Boxes ?? [];
        return
        [
            .. numbers.Boxes.Concat(then.Where(t => numbers.Boxes.All(b => b.Slug != t.Slug)).Select(t => new BoxFigures(t.Slug, t.Title, 0, 0, []))).Select(box => box with
            {
                Versions =
                [
                    .. box.Versions.Concat((Of(other, box.Slug)?.Versions ?? []).Where(t => box.Versions.All(v => v.Number != t.Number)).Select(t => new VersionFigures(t.Number, 0, 0, 0)))
                        .OrderByDescending(v => v.Number, ReleaseNumbers.ByPrecedence),
                ],
            }),
        ];
    }

    /// <summary>A box of these days; null: nothing of it was started or finished.</summary>
    public static BoxFigures? Of(DownloadNumbers? numbers, string slug) => numbers?.Boxes.FirstOrDefault(b => b.Slug == slug);

    private static string Cost(GigabytePrice price, long bytes) => string.Create(Say.Culture, $"{price.Currency} {price.Of(bytes):N2}");

    /// <summary>How many answers came to what, in words: "206, a part", "404, refused".</summary>
    public static string Answer(string status) => status switch
    {
        "200" => T("200, all of it"),
        "403" => T("403, not or no longer a link of this shelf"),
        "206" => T("206, a part of it"),
        "304" => T("304, not changed since"),
        "HEAD" => T("asked about, no bytes wanted"),
        "404" => T("404, no such archive"),
        "410" => T("410, a link that had run out or was closed"),
        "412" => T("412, another version than the one held"),
        "416" => T("416, a part beyond its end"),
        "429" => T("429, too many at once"),
        "503" => T("503, to come back later"),
        _ => status,
    };

    public static string Day(LocalDate day) => Dates.Day(day);
}
