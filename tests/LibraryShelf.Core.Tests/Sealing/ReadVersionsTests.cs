using System.Text.Json;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Sealing;

public sealed class ReadVersionsTests
{
    [Fact]
    public async Task Tells_each_file_once_the_shelfs_own_texts_too_and_only_what_was_on_the_shelf()
    {
        await using var bench = await SealBench.MakeAsync();
        using var tables = new VersionTables();
        Assert.Null(await ReadAsync(bench, tables));
        await OutAsync(bench, "1.0.0", ("a.wav", "a"), ("b.wav", "b"));
        var second = await OutAsync(bench, "1.1.0", ("a.wav", "a"), ("b.wav", "better"));
        await bench.SealedAsync(await bench.CheckedAsync("2.0.0", ("secret.wav", "not out yet")));

        var before = await ReadAsync(bench, tables);
        using var json = JsonDocument.Parse(before!.Plain);
        Assert.Equal("libraryshelf/versions/1", json.RootElement.GetProperty("schema").GetString());
        Assert.DoesNotContain("secret", json.RootElement.GetRawText(), StringComparison.Ordinal);
        Assert.Equal(["1.1.0", "1.0.0"], json.RootElement.GetProperty("versions").EnumerateArray().Select(v => v.GetProperty("number").GetString()));
        Assert.Single(json.RootElement.GetProperty("files").EnumerateArray(), f => f.GetProperty("path").GetString() == "a.wav");
        foreach (var version in json.RootElement.GetProperty("versions").EnumerateArray())
            Assert.Equal(await RecipePathsAsync(bench, version.GetProperty("number").GetString()!), PathsOf(json.RootElement, version));

        await bench.ChangeAsync(second, r => { r.MoveTo(ReleaseState.Withdrawn, bench.Shelf.Clock.GetUtcNow()); r.WithdrawnBecause = "It hums."; });
        var after = await ReadAsync(bench, tables);
        Assert.NotEqual(before.Fingerprint, after!.Fingerprint);
        Assert.Contains("It hums.", System.Text.Encoding.UTF8.GetString(after.Plain), StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_early_version_is_told_to_those_it_was_given_to_alone()
    {
        await using var bench = await SealBench.MakeAsync();
        using var tables = new VersionTables();
        var early = await bench.CheckedAsync("1.0.0", ("early.wav", "e"));
        await bench.SealedAsync(early);
        var (guest, other) = await GuestAndOtherAsync(bench, early);
        Assert.Null(await ReadAsync(bench, tables));
        Assert.Null(await ReadAsync(bench, tables, other));
        Assert.Contains("early.wav", System.Text.Encoding.UTF8.GetString((await ReadAsync(bench, tables, guest))!.Plain), StringComparison.Ordinal);
        Assert.Null(await ReadAsync(bench, tables));
    }

    private static async Task<(long Guest, long Other)> GuestAndOtherAsync(SealBench bench, long early)
    {
        await using var db = bench.Shelf.Open();
        await new LibraryShelf.Core.Publishing.ReleaseEarly(db, bench.Shelf.Clock).RunAsync(early, "wren@example.org", declares: true, "https://shelf.example", default);
        var guest = await Accounts.TestPeople.FindOrAddAsync(db, "wren@example.org", bench.Shelf.Clock.GetUtcNow());
        return (guest.Id, (await Accounts.TestPeople.FindOrAddAsync(db, "other@example.org", bench.Shelf.Clock.GetUtcNow())).Id);
    }

    /// <summary>The measure: twenty versions of 20,000 files, twenty changed each time, cost little more than one.</summary>
    [Fact]
    public void Twenty_versions_that_share_their_files_stay_small()
    {
        var files = Enumerable.Range(0, 20_000 + (19 * 20)).Select(i => new VersionFile($"Samples/{i % 20_000}.wav", 1, $"{i:x64}")).ToList();
        var versions = Enumerable.Range(0, 20).Select(v => new TableVersion($"1.{v}.0", "T", DateTimeOffset.UnixEpoch, null, null, 1,
            [.. Enumerable.Range(0, 21).SelectMany(i => new[] { i * 900, 899 })])).ToList();
        Assert.InRange(new VersionTable(VersionTable.SchemaName, "t", "T", files, versions).ToJson().Length, 1, 3_000_000);
    }

    private static async Task<long> OutAsync(SealBench bench, string number, params (string, string)[] files)
    {
        var id = await bench.CheckedAsync(number, files);
        await bench.SealedAsync(id);
        await bench.ChangeAsync(id, r =>
        {
            r.MoveTo(ReleaseState.Published, bench.Shelf.Clock.GetUtcNow());
            r.Library.Decide(Audience.Members, bench.Shelf.Clock.GetUtcNow());
        });
        return id;
    }

    private static async Task<VersionDocument?> ReadAsync(SealBench bench, VersionTables tables, long? personId = null)
    {
        await using var db = bench.Shelf.Open();
        return await new ReadVersions(db, bench.Store, tables, bench.Shelf.Clock).RunAsync("kettle", personId, CancellationToken.None);
    }

    private static async Task<List<string>> RecipePathsAsync(SealBench bench, string number)
    {
        await using var db = bench.Shelf.Open();
        var release = await db.Releases.SingleAsync(r => r.Number == number);
        await using var stream = bench.Store.Open((await db.Archives.SingleAsync(a => a.ReleaseId == release.Id)).RecipeSha256);
        using var memory = new MemoryStream();
        await stream.CopyToAsync(memory);
        return [.. Recipe.Parse(memory.ToArray()).Entries.Select(e => e.Path).Order(StringComparer.Ordinal)];
    }

    private static List<string> PathsOf(JsonElement table, JsonElement version)
    {
        var files = table.GetProperty("files").EnumerateArray().Select(f => f.GetProperty("path").GetString()!).ToList();
        return [.. version.GetProperty("runs").EnumerateArray().Select(r => r.GetInt32()).Chunk(2)
            .SelectMany(run => files.GetRange(run[0], run[1])).Order(StringComparer.Ordinal)];
    }
}
