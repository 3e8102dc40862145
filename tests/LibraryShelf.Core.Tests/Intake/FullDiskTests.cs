using System.IO.Compression;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using static LibraryShelf.Core.Tests.Intake.IntakeBench;

namespace LibraryShelf.Core.Tests.Intake;

/// <summary>
/// A disk that refuses: nothing of the draft changes, what was sent is kept, and it goes on when there is room. Where a real ENOSPC
/// can be had it is: /dev/full refuses every write with it (full(4)), and SQLite stops at max_page_count as at a full disk.
/// </summary>
public sealed class FullDiskTests : IDisposable
{
    private static readonly byte[] A = Bytes("the kettle, low");
    private static readonly byte[] B = Bytes("the kettle, high");
    private readonly IntakeBench bench = new();
    private readonly RefusingStore store;

    public FullDiskTests() => bench.Store = store = new RefusingStore(bench.Store);

    public void Dispose() => bench.Dispose();

    private static IOException NoSpace() => new("No space left on device", 28); // errno.h: ENOSPC

    [Fact]
    public void The_platforms_own_full_disk_is_known()
    {
        if (!OperatingSystem.IsLinux())
            return;
        var fault = Assert.ThrowsAny<IOException>(() =>
        {
            using var full = new FileStream("/dev/full", FileMode.Open, FileAccess.Write, FileShare.ReadWrite, bufferSize: 0);
            full.Write(A);
        });
        Assert.Equal("The shelf’s disk is full.", DiskTrouble.WordsOf(fault));
    }

    [Fact]
    public void Other_faults_are_not_the_disks()
    {
        Assert.Null(DiskTrouble.WordsOf(new InvalidOperationException("bug")));
        Assert.Null(DiskTrouble.WordsOf(new FileNotFoundException("gone")));
        Assert.Contains("may not write", DiskTrouble.WordsOf(new UnauthorizedAccessException()), StringComparison.Ordinal);
        Assert.Contains("full", DiskTrouble.WordsOf(new DbUpdateException("x", NoSpace())), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_piece_that_can_not_be_written_is_said_and_gone_on_with()
    {
        var id = await bench.StartedAsync("a.wav", A.Length, Hash(A));
        // A folder in the file's place refuses every writer, also root.
        var file = Path.Combine(bench.Paths.Uploads, id);
        Directory.CreateDirectory(file);
        var noRoom = Assert.IsType<UploadOutcome.NoRoom>(await bench.AppendAsync(id, 0, A));
        Assert.Contains("may not write", noRoom.Message, StringComparison.Ordinal);
        Assert.Equal(0, noRoom.Offset);
        Directory.Delete(file);
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, 0, A));
    }

    [Fact]
    public async Task A_whole_upload_that_can_not_be_put_away_waits_and_is_finished_by_the_next_question()
    {
        await bench.SendAsync("old.wav", B);
        var before = await bench.DraftAsync();
        var id = await bench.StartedAsync("a.wav", A.Length, Hash(A));
        store.Refusing = NoSpace;
        var noRoom = Assert.IsType<UploadOutcome.NoRoom>(await bench.AppendAsync(id, 0, A));
        Assert.Contains("a.wav", noRoom.Message, StringComparison.Ordinal);
        Assert.Equal(A.Length, noRoom.Offset);
        Assert.Equal(before, await bench.DraftAsync());
        store.Refusing = () => new UnauthorizedAccessException();
        Assert.Contains("may not write", Assert.IsType<UploadOutcome.NoRoom>(await bench.ReadAsync(id)).Message, StringComparison.Ordinal);
        store.Refusing = null;
        Assert.IsType<UploadOutcome.Finished>(await bench.ReadAsync(id));
        Assert.Equal(Hash(A), (await bench.ManifestAsync())["a.wav"]);
    }

    /// <summary>A browser on plain http says no hash; what it sent is kept all the same, as the words say.</summary>
    [Fact]
    public async Task What_was_moved_into_the_store_without_a_hash_need_not_be_sent_again()
    {
        var id = await bench.StartedAsync("a.wav", A.Length);
        store.AfterAdopting = NoSpace;
        Assert.Equal(A.Length, Assert.IsType<UploadOutcome.NoRoom>(await bench.AppendAsync(id, 0, A)).Offset);
        Assert.False(bench.Desk.HasBytes(id));
        store.AfterAdopting = null;
        bench.Restart();
        Assert.IsType<UploadOutcome.Finished>(await bench.ReadAsync(id));
        Assert.Equal(Hash(A), (await bench.ManifestAsync())["a.wav"]);
    }

    [Fact, Trait("Database", "sqlite")] // A database of few pages is SQLite's way of being full.
    public async Task A_zip_from_a_form_that_the_database_can_not_note_leaves_nothing()
    {
        await using var db = bench.Db();
        await StopGrowthAsync(db);
        db.Uploads.AddRange(Enumerable.Range(0, 200).Select(_ => new Upload { Id = UploadDesk.NewId(), Path = new string('x', 500) }));
        Assert.Contains("full", DiskTrouble.WordsOf(await Assert.ThrowsAsync<DbUpdateException>(() => db.SaveChangesAsync())), StringComparison.Ordinal);
        db.ChangeTracker.Clear();
        await FillAsync(db);
        var outcome = await new TakeZip(db, bench.Desk, bench.Reserve, Options.Create(bench.Settings), bench.Clock)
            .RunAsync(bench.ReleaseId, new string('k', 3000) + ".zip", new MemoryStream(A), CancellationToken.None);
        Assert.Contains("full", Assert.IsType<TakeZipOutcome.NoRoom>(outcome).Message, StringComparison.Ordinal);
        Assert.Empty(bench.Desk.AllBytes());
    }

    [Theory, InlineData(true), InlineData(false)]
    public async Task A_zip_waits_for_room_and_the_draft_stays(bool isFull)
    {
        await bench.SendAsync("old.wav", B);
        var before = await bench.DraftAsync();
        var id = await ZipAsync();
        (store.Refusing, store.After) = (isFull ? NoSpace : () => new UnauthorizedAccessException(), 1);

        for (var minute = 0; minute < 3; minute++)
        {
            Assert.IsType<UnpackOutcome.Waiting>(await bench.UnpackAsync(id));
            Assert.Equal(before, await bench.DraftAsync());
            var words = (await bench.ReleaseAsync()).Trouble;
            Assert.Contains("kettle.zip", words, StringComparison.Ordinal);
            Assert.Contains(isFull ? "disk is full" : "may not write", words, StringComparison.Ordinal);
            Assert.True(bench.Desk.HasBytes(id));
            // The sweep wakes it again.
            await using var db = bench.Db();
            Assert.Equal([id], await new FindWaitingZips(db, bench.Desk).RunAsync(CancellationToken.None));
        }

        store.Refusing = null;
        Assert.IsType<UnpackOutcome.Unpacked>(await bench.UnpackAsync(id));
        Assert.Equal(["a.wav", "b.wav"], (await bench.ManifestAsync()).Keys.Order(StringComparer.Ordinal));
        Assert.Null((await bench.ReleaseAsync()).Trouble);
    }

    /// <summary>A gigabyte is the usual reserve; the machine's own disk never gets to its last byte.</summary>
    [Fact]
    public async Task What_does_not_fit_besides_the_reserve_is_not_begun_and_not_gone_on_with()
    {
        const long reserve = 1_000_000_000;
        bench.Free = reserve + A.Length - 1;
        var words = Assert.IsType<StartUploadOutcome.NoRoom>(await bench.StartAsync("a.wav", A.Length)).Message;
        Assert.Contains("a.wav needs 15 bytes, and of the 1.0 GB that are free 1.0 GB are kept for everything else", words, StringComparison.Ordinal);
        Assert.Contains("everything sent before is kept", words, StringComparison.Ordinal);
        bench.Free = reserve + A.Length;
        var id = await bench.StartedAsync("a.wav", A.Length);
        bench.Free = reserve + A.Length - 1; // another took a byte meanwhile
        Assert.Equal(0, Assert.IsType<UploadOutcome.NoRoom>(await bench.AppendAsync(id, 0, A)).Offset);
        Assert.Equal(0, bench.Desk.OffsetOf(id));
        bench.Free = reserve + A.Length;
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, 0, A));
        await using var db = bench.Db();
        bench.Free = reserve;
        Assert.IsType<TakeZipOutcome.NoRoom>(await new TakeZip(db, bench.Desk, bench.Reserve, Options.Create(bench.Settings), bench.Clock)
            .RunAsync(bench.ReleaseId, "kettle.zip", new MemoryStream(A), CancellationToken.None));
        Assert.Empty(bench.Desk.AllBytes());
    }

    [Fact]
    public async Task A_zip_is_not_begun_without_room_for_all_its_files_and_what_the_shelf_holds_needs_none()
    {
        var id = await ZipAsync();
        bench.Free = 1_000_000_000 + A.Length + B.Length - 1;
        var words = Assert.IsType<UnpackOutcome.Waiting>(await bench.UnpackAsync(id)).Reason;
        Assert.Contains("its files need 31 bytes", words, StringComparison.Ordinal);
        Assert.Contains("The zip is kept", words, StringComparison.Ordinal);
        Assert.False(bench.Store.Has(Hash(A)) || bench.Store.Has(Hash(B)));
        // One of its files comes by another way.
        bench.Free = null;
        await bench.SendAsync("b.wav", B);
        bench.Free = 1_000_000_000 + A.Length;
        Assert.IsType<UnpackOutcome.Unpacked>(await bench.UnpackAsync(id));
    }

    [Fact]
    public async Task A_zip_whose_draft_was_discarded_meanwhile_ends_quietly()
    {
        var id = await ZipAsync();
        await using var db = bench.Db();
        await db.Releases.Where(r => r.Id == bench.ReleaseId).ExecuteDeleteAsync();
        Assert.IsType<UnpackOutcome.Abandoned>(await bench.UnpackAsync(id));
        await db.Uploads.ExecuteDeleteAsync();
        await new ClearUpload(db, bench.Desk).RunAsync(id, CancellationToken.None);
        Assert.False(bench.Desk.HasBytes(id));
    }

    private async Task<string> ZipAsync()
    {
        using var stream = new MemoryStream();
        await using (var zip = new ZipArchive(stream, ZipArchiveMode.Create, leaveOpen: true))
            foreach (var (path, bytes) in new[] { ("a.wav", A), ("b.wav", B) })
            {
                await using var entry = await zip.CreateEntry(path).OpenAsync();
                await entry.WriteAsync(bytes);
            }
        var id = await bench.StartedAsync("kettle.zip", stream.Length, null, UploadKind.Zip);
        await bench.AppendAsync(id, 0, stream.ToArray());
        return id;
    }

    private static async Task StopGrowthAsync(ShelfDb db)
    {
        await db.Database.OpenConnectionAsync();
        await db.Database.ExecuteSqlRawAsync("PRAGMA max_page_count = 1"); // raised by SQLite to the pages there are
    }

    /// <summary>Uses up the pages' last free bytes.</summary>
    private static async Task FillAsync(ShelfDb db)
    {
        for (var size = 2000; size >= 20; size /= 2)
            while (await DiskTrouble.TryAsync(() => db.Database.ExecuteSqlRawAsync(
                "INSERT INTO Uploads (Id, ReleaseId, Kind, Path, Length, Metadata, CreatedAt) VALUES (hex(randomblob(11)), 1, 'File', {0}, 1, '', 1)", new string('x', size))) is null)
            {
            }
    }
}
