using System.IO.Compression;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Sealing;

public sealed class SealReleaseTests
{
    [Fact]
    public async Task Nothing_happens_unless_it_was_asked_for()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        Assert.IsType<SealReleaseOutcome.NothingToDo>(await bench.SealAsync(id));
        Assert.Equal(ReleaseState.Checked, (await bench.ReleaseAsync(id)).State);
    }

    [Fact]
    public async Task Sealing_freezes_the_release_and_makes_its_archive()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("kettle.sfz", "<region>"), ("Samples/a.wav", "bytes"));
        await bench.AskAsync(id, Audience.Free);
        var done = Assert.IsType<SealReleaseOutcome.Sealed>(await bench.SealAsync(id));

        var (release, archive) = (await bench.ReleaseAsync(id), await bench.ArchiveAsync(id));
        Assert.Equal((archive.Id, Audience.Free), (done.ArchiveId, done.PublishFor));
        Assert.Equal((ReleaseState.Sealed, bench.Shelf.Clock.GetUtcNow(), null), (release.State, release.SealedAt, release.SealAskedAt));
        Assert.Equal("Mended Kettle", release.Library.FolderName);
        Assert.Equal((ArchiveKind.Full, "Mended Kettle 1.0.0.zip", null), (archive.Kind, archive.FileName, archive.Sha256));

        var bytes = await BytesAsync(bench, archive);
        Assert.Equal(archive.Length, bytes.Length);
        using var zip = new ZipArchive(new MemoryStream(bytes));
        Assert.Equal(
            ["Mended Kettle/CHANGES.md", "Mended Kettle/CHECKSUMS.sha256", "Mended Kettle/INSTALL.txt", "Mended Kettle/LICENCE.txt",
                "Mended Kettle/Samples/a.wav", "Mended Kettle/kettle.sfz"],
            zip.Entries.Select(e => e.FullName));
        Assert.Contains("CC-BY-4.0", Text(zip, "LICENCE.txt"), StringComparison.Ordinal);
        Assert.Contains("Pondskater", Text(zip, "INSTALL.txt"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_second_run_finds_the_archive_that_is_there()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.AskAsync(id, Audience.Members);
        var first = Assert.IsType<SealReleaseOutcome.Sealed>(await bench.SealAsync(id));
        bench.Shelf.Clock.Advance(TimeSpan.FromDays(1));
        Assert.Equal(first, await bench.SealAsync(id));
    }

    [Fact]
    public async Task Changes_tell_the_earlier_versions_by_number_and_the_day_they_were_sealed()
    {
        await using var bench = await SealBench.MakeAsync();
        foreach (var number in new[] { "1.9.0", "2.0.0", "1.10.0" })
        {
            await bench.SealedAsync(await bench.CheckedAsync(number, ("a.wav", number)));
            bench.Shelf.Clock.Advance(TimeSpan.FromDays(1));
        }
        var id = await bench.CheckedAsync("1.11.0", ("a.wav", "x"));
        using var zip = new ZipArchive(new MemoryStream(await BytesAsync(bench, await bench.SealedAsync(id))));

        var changes = Text(zip, "CHANGES.md");
        // Newest number first; 2.0.0 is above 1.11.0 and so no earlier version of it. The clock starts on 25 November 2026.
        int[] places = [.. new[] { "1.11.0", "2026-11-28", "What 1.11.0", "1.10.0", "2026-11-27", "1.9.0", "2026-11-25" }
            .Select(part => changes.IndexOf(part, StringComparison.Ordinal))];
        Assert.DoesNotContain(-1, places);
        Assert.Equal(places.Order(), places);
        Assert.DoesNotContain("2.0.0", changes, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_same_rows_give_the_same_seal_on_another_shelf_with_its_files_in_another_order()
    {
        var seals = new List<string>();
        foreach (var files in new[] { new[] { ("a.wav", "a"), ("b/c.wav", "c") }, [("b/c.wav", "c"), ("a.wav", "a")] })
        {
            await using var bench = await SealBench.MakeAsync();
            seals.Add((await bench.SealedAsync(await bench.CheckedAsync("1.0.0", files))).RecipeSha256);
        }
        Assert.Equal(seals[0], seals[1]);
    }

    [Fact]
    public async Task A_new_title_leaves_the_folder_that_songs_remember()
    {
        await using var bench = await SealBench.MakeAsync();
        await bench.SealedAsync(await bench.CheckedAsync("1.0.0", ("a.wav", "a")));
        var id = await bench.CheckedAsync("1.1.0", ("a.wav", "a"));
        await bench.ChangeAsync(id, r => r.Library.Title = "Whole Kettle");
        var archive = await bench.SealedAsync(id);

        Assert.Equal("Mended Kettle 1.1.0.zip", archive.FileName);
        using var zip = new ZipArchive(new MemoryStream(await BytesAsync(bench, archive)));
        Assert.All(zip.Entries, e => Assert.StartsWith("Mended Kettle/", e.FullName, StringComparison.Ordinal));
    }

    [Fact]
    public async Task What_changed_since_the_wish_stops_it_with_words_and_takes_the_wish_back()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.AskAsync(id, Audience.Free);
        await bench.MustFixAsync(id);
        Assert.IsType<SealReleaseOutcome.Stopped>(await bench.SealAsync(id));

        var release = await bench.ReleaseAsync(id);
        Assert.Contains("must-fix", release.Trouble, StringComparison.Ordinal);
        Assert.Equal((null, null, ReleaseState.Checked), (release.SealAskedAt, release.PublishAfterSealFor, release.State));
        await using var db = bench.Shelf.Open();
        Assert.Equal(0, await db.Archives.CountAsync());
    }

    public static TheoryData<Exception, string> Refusals() => new()
    {
        // ENOSPC of Linux, errno.h: 28.
        { new IOException("No space left on device : '/var/lib/x'", 28), "The shelf’s disk is full." },
        { new UnauthorizedAccessException("Access to the path '/var/lib/x' is denied."), "may not write" },
    };

    [Theory, MemberData(nameof(Refusals))]
    public async Task A_disk_that_refuses_puts_it_off_with_words_and_it_is_sealed_once_there_is_room(Exception refusal, string words)
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.AskAsync(id, Audience.Free);
        var putOff = Assert.IsType<SealReleaseOutcome.PutOff>(await bench.SealAsync(id, new PuttingStore(bench.Store, () => throw refusal)));
        Assert.Contains(words, putOff.Reason, StringComparison.Ordinal);
        Assert.DoesNotContain("/var", putOff.Reason, StringComparison.Ordinal);
        var release = await bench.ReleaseAsync(id);
        Assert.Equal((false, putOff.Reason, Audience.Free), (release.IsSealed, release.Trouble, release.PublishAfterSealFor));
        Assert.NotNull(release.SealAskedAt);

        Assert.Equal(Audience.Free, Assert.IsType<SealReleaseOutcome.Sealed>(await bench.SealAsync(id)).PublishFor);
        Assert.Null((await bench.ReleaseAsync(id)).Trouble);
    }

    [Fact]
    public async Task Words_edited_while_it_seals_are_not_lost_under_the_seal()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.AskAsync(id);
        var meddled = new PuttingStore(bench.Store, () => bench.ChangeAsync(id, r => { r.Notes = "Other notes."; r.Revision++; }).GetAwaiter().GetResult());
        Assert.IsType<SealReleaseOutcome.NothingToDo>(await bench.SealAsync(id, meddled));
        Assert.False((await bench.ReleaseAsync(id)).IsSealed);

        // The wish still stands, so the sweep's next try seals what is there now.
        Assert.IsType<SealReleaseOutcome.Sealed>(await bench.SealAsync(id));
        using var zip = new ZipArchive(new MemoryStream(await BytesAsync(bench, await bench.ArchiveAsync(id))));
        Assert.Contains("Other notes.", Text(zip, "CHANGES.md"), StringComparison.Ordinal);
    }

    internal static async Task<byte[]> BytesAsync(SealBench bench, Archive archive)
    {
        using var recipe = new MemoryStream();
        await using (var stored = bench.Store.Open(archive.RecipeSha256))
            await stored.CopyToAsync(recipe);
        var layout = new ArchiveLayout(Recipe.Parse(recipe.ToArray()));
        using var bytes = new MemoryStream();
        await ArchiveWriter.WriteAsync(layout, bench.Store.Open, bytes, 0, layout.Length, CancellationToken.None);
        return bytes.ToArray();
    }

    private static string Text(ZipArchive zip, string name)
    {
        using var reader = new StreamReader(zip.GetEntry("Mended Kettle/" + name)!.Open());
        return reader.ReadToEnd();
    }

    /// <summary>The bench's store, with something happening at each put.</summary>
    private sealed class PuttingStore(IBlobStore inner, Action happens) : IBlobStore
    {
        public Task<StoredBytes> PutAsync(Stream content, CancellationToken cancellationToken)
        {
            happens();
            return inner.PutAsync(content, cancellationToken);
        }

        public Task AdoptAsync(string filePath, StoredBytes bytes, CancellationToken cancellationToken) => inner.AdoptAsync(filePath, bytes, cancellationToken);

        public Stream Open(string sha256) => inner.Open(sha256);

        public bool Has(string sha256) => inner.Has(sha256);

        public string? LocalPath(string sha256) => inner.LocalPath(sha256);

        public IEnumerable<string> UntouchedSince(DateTimeOffset before) => inner.UntouchedSince(before);

        public bool Remove(string sha256, DateTimeOffset before) => inner.Remove(sha256, before);

        public void ClearUnfinished(DateTimeOffset before) => inner.ClearUnfinished(before);
    }
}
