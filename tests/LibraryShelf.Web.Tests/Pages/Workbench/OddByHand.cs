using System.Text.Json;
using AngleSharp.Dom;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>The four that have to say the same: the page, the file, what programs read and docs/counting.md's SQL.</summary>
public abstract class OddByHand(OddHost odd)
{
    protected ShelfHost Host => odd.Host;

    /// <summary>docs/counting.md's SQL, asked about something else than there.</summary>
    protected Task<List<string>> ByHandAsync(string sql, string there, string here) => Host.AskDbAsync(async db =>
    {
        Assert.Contains(there, sql, StringComparison.Ordinal);
        await db.Database.OpenConnectionAsync();
        await using var command = db.Database.GetDbConnection().CreateCommand();
        command.CommandText = sql.Replace(there, here, StringComparison.Ordinal);
        await using var reader = await command.ExecuteReaderAsync();
        var rows = new List<string>();
        while (await reader.ReadAsync())
            rows.Add(string.Join('|', Enumerable.Range(0, reader.FieldCount).Select(reader.GetValue)));
        return rows;
    });

    /// <summary>A file's lines without its head; none of these has quotes.</summary>
    protected static async Task<List<string[]>> FileAsync(HttpClient maker, string address) =>
        [.. (await maker.GetStringAsync(new Uri(address, UriKind.Relative))).Split("\r\n", StringSplitOptions.RemoveEmptyEntries).Skip(1).Select(l => l.Split(','))];

    protected static async Task<JsonElement> JsonAsync(HttpClient maker, string what)
    {
        using var document = JsonDocument.Parse(await maker.GetStringAsync(new Uri("/api/numbers/" + what, UriKind.Relative)));
        return document.RootElement.Clone();
    }

    protected static string Fields(JsonElement of, params string[] names) => string.Join('|', names.Select(n => of.GetProperty(n).ToString()));

    protected static string Row(IElement row) => string.Join('|', row.Children.Select(cell => cell.Words().Replace('\u00a0', ' ')));
}
