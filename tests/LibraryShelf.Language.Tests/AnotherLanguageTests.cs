using System.Text.RegularExpressions;
using AngleSharp;
using AngleSharp.Dom;
using LibraryShelf.Web.Tests;
using LibraryShelf.Web.Tests.Doors;
using Microsoft.EntityFrameworkCore;
using Xunit.Abstractions;

namespace LibraryShelf.Language.Tests;

/// <summary>The whole shelf in a language that is a file: what stands on its pages is said, or is somebody's own words.</summary>
[Collection(OneLanguage.AtATime)]
public sealed partial class AnotherLanguageTests(ITestOutputHelper output)
{
    private static readonly string[] ReadAttributes = ["aria-label", "title", "alt", "placeholder", "data-label", "label", "aria-description"];

    /// <summary>The same in every language: names, units, currencies, formats, column names that are typed.</summary>
    private static readonly HashSet<string> OfNoLanguage = new(StringComparer.Ordinal)
    {
        "zip", "wav", "flac", "ogg", "opus", "csv", "json", "txt", "sfz", "svg", "png", "WAV", "FLAC", "AIFF", "CSV", "JSON", "SFZ", "ZIP", "RIFF", "SHA", "SemVer", "Markdown", "Atom", "MIDI",
        "KB", "MB", "GB", "TB", "kHz", "Hz", "bit", "dBFS", "dBTP", "LUFS", "dB", "ms", "UTC", "GMT", "http", "https", "www", "MRR", "LibraryShelf", "Stripe", "Europe", "Lisbon", "NaN", "ID", "LICENCE",
        "EUR", "AUD", "CHF", "CZK", "DKK", "GBP", "NOK", "NZD", "RON", "SEK", "PLN", "USD",
        "Apache License", "GNU General Public License", "or later", "MIT License", "SIL Open Font License", "The Unlicense",
    };

    /// <summary>Causes, kinds and codes that are no enumeration.</summary>
    private static readonly string[] OfPrograms = ["Cause", "Kind", "Code"];

    private static bool IsJson(string value) => value is ['{' or '[', ..];

    [Fact]
    public async Task Every_page_is_in_the_shelfs_language()
    {
        MarkedLanguage.Write();
        await using var world = await DoorWorld.MakeAsync(MarkedLanguage.Tag);
        var knocks = new Knocks(world);
        var ofPrograms = await ColumnsOfProgramsAsync(world);
        var (unsaid, pages) = (new SortedSet<string>(StringComparer.Ordinal), 0);
        foreach (var row in WhoMay.Rows.Where(r => r.Method == HttpMethod.Get))
        {
            foreach (var who in new[] { Who.Visitor, Who.Member, Who.Maker }.Where(row.May.Contains))
            {
                var client = await world.ClientAsync(who);
                using var request = (await knocks.ForAsync(row)).With(null);
                using var answer = await client.SendAsync(request);
                if (answer.Content.Headers.ContentType?.MediaType != "text/html")
                    continue;
                pages++;
                if ((int)answer.StatusCode >= 500)
                    unsaid.Add($"{row.Name}, {who}: {FaultsInAnswers.Describe(answer)}");
                var html = await answer.Content.ReadAsStringAsync();
                var page = await BrowsingContext.New().OpenAsync(r => r.Content(html));
                if (page.DocumentElement.GetAttribute("lang") is var tag && tag != MarkedLanguage.Tag)
                    unsaid.Add($"{row.Name}: the language “{tag}” {page.Title}, {(int)answer.StatusCode}");
                var own = await OwnWordsAsync(world, ofPrograms);
                foreach (var words in Read(page).SelectMany(t => Plain().Matches(t).Select(m => m.Value)).Where(w => !OfNoLanguage.Contains(w) && !Holds(own, w)))
                    unsaid.Add($"{row.Endpoint}: {words}");
            }
        }
        foreach (var line in unsaid)
            output.WriteLine(line);
        Assert.True(pages > 100, $"Only {pages} pages were read.");
        Assert.True(unsaid.Count == 0, $"{unsaid.Count} words are in no language's file:\n" + string.Join('\n', unsaid.Take(300)));
    }

    /// <summary>Columns that hold states and kinds, by table and name.</summary>
    private static async Task<HashSet<(string, string)>> ColumnsOfProgramsAsync(DoorWorld world)
    {
        var columns = new HashSet<(string, string)>();
        await world.Host.WithDbAsync(db =>
        {
            foreach (var property in db.Model.GetEntityTypes().SelectMany(e => e.GetProperties()).Where(p => (Nullable.GetUnderlyingType(p.ClrType) ?? p.ClrType).IsEnum))
                columns.Add((property.DeclaringType.GetTableName() ?? "", property.GetColumnName()));
            return Task.CompletedTask;
        });
        Assert.True(columns.Count > 20, $"Only {columns.Count} columns hold a state or a kind.");
        return columns;
    }

    /// <summary>As whole words, in one cell.</summary>
    private static bool Holds(string own, string words)
    {
        for (var at = own.IndexOf(words, StringComparison.OrdinalIgnoreCase); at >= 0; at = own.IndexOf(words, at + 1, StringComparison.OrdinalIgnoreCase))
            if ((at == 0 || !char.IsLetter(own[at - 1])) && (at + words.Length == own.Length || !char.IsLetter(own[at + words.Length])))
                return true;
        return false;
    }

    /// <summary>What was typed, sent or written down: all the database holds, but for what programs keep there for themselves.</summary>
    private static async Task<string> OwnWordsAsync(DoorWorld world, HashSet<(string, string)> ofPrograms)
    {
        var own = new System.Text.StringBuilder();
        await ShelfState.ForEachRowAsync(world.Host, (table, row) => row.Where(c => !ofPrograms.Contains((table, c.Column)) && !OfPrograms.Contains(c.Column) && !IsJson(c.Value)).ToList().ForEach(c => own.Append(c.Value).Append('\n')));
        return own.ToString();
    }

    /// <summary>What a person reads or hears of it: texts, but for what is typed as it stands, and the attributes that are read out.</summary>
    private static IEnumerable<string> Read(IDocument page)
    {
        foreach (var element in page.All)
        {
            if (element.Closest("code, pre, kbd, samp, script, style, [translate=no], textarea, option[value*='/']") is not null)
                continue;
            foreach (var text in element.ChildNodes.OfType<IText>())
                yield return text.Data;
            foreach (var name in ReadAttributes)
                if (element.GetAttribute(name) is { } value)
                    yield return value;
        }
    }

    /// <summary>Two letters or more without a mark, and the words that go on after them.</summary>
    [GeneratedRegex(@"(?<![\p{L}\u0301@./#-])[A-Za-z]{2,}(?!\u0301)(?:['’]?[ ]?[A-Za-z]+(?!\u0301))*")]
    private static partial Regex Plain();
}
