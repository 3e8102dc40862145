using LibraryShelf.Audio;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Checking.CheckBench;

namespace LibraryShelf.Core.Tests.Checking;

public sealed class CheckReleaseTests
{
    private static readonly byte[] Sound = Wav(1000, -2000, 1000);
    private static readonly byte[] Other = Wav(500, -600, 100);
    private static readonly byte[] Silence = Wav(0, 0, 0);

    [Fact]
    public async Task A_draft_becomes_checked_with_its_sheet_and_counts()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound), ("B3.wav", Silence), ("Jar.sfz", Text("<region> sample=A3.wav key=57\n<region> sample=B3.wav key=58")));
        Assert.Equal(new CheckReleaseOutcome.Checked(1, 0), await bench.CheckAsync(id));

        var release = await bench.ReleaseAsync(id);
        Assert.Equal((ReleaseState.Checked, null, 2, 2), (release.State, release.CheckAskedAt, release.CheckDone, release.CheckTotal));
        Assert.Equal((2, 2, 57, 58, 1, 1), (release.Recordings, release.Keys, release.LowestKey, release.HighestKey, release.Layers, release.Takes));
        Assert.Equal(bench.Shelf.Clock.GetUtcNow(), release.CheckedAt);
        Assert.True(release.FolderBytes > Sound.Length + Silence.Length);
        var entry = Assert.Single(await bench.SheetAsync(id));
        Assert.Equal((FindingCodes.RecordingSilent, Severity.MustFix, "B3.wav"), (entry.Code, entry.Severity, entry.Path));
        Assert.True(entry.BlocksSealing);
        Assert.Equal(64, entry.ContentSha256!.Length);
    }

    [Fact]
    public async Task Without_a_wish_nothing_is_done()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound));
        Assert.IsType<CheckReleaseOutcome.NothingToDo>(await bench.RunAsync(id));
        Assert.IsType<CheckReleaseOutcome.NothingToDo>(await bench.RunAsync(id + 1));
        await bench.CheckAsync(id);
        Assert.IsType<CheckReleaseOutcome.NothingToDo>(await bench.RunAsync(id));
    }

    [Fact]
    public async Task An_unchanged_recording_is_never_measured_twice()
    {
        await using var bench = await MakeAsync();
        await bench.CheckAsync(await bench.DraftAsync("1.0.0", ("A3.wav", Sound), ("copy.wav", Sound)));
        Assert.Single(bench.Store.Opened);
        bench.Store.Opened.Clear();
        var next = await bench.DraftAsync("1.1.0", ("moved/A3.wav", Sound), ("B3.wav", Other));
        await bench.CheckAsync(next);
        Assert.Single(bench.Store.Opened);
        Assert.Equal(2, (await bench.ReleaseAsync(next)).CheckDone);
    }

    [Fact]
    public async Task What_was_read_of_recordings_is_remembered_and_a_program_started_anew_reads_the_same()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound), ("B3.wav", Silence));
        await bench.CheckAsync(id);
        var first = await SheetAsync();
        await using var db = bench.Open();
        // A row that is there is remembered, whatever else stands in it.
        await db.Measurements.ExecuteUpdateAsync(m => m.SetProperty(x => x.Facts, x => x.Facts + " "));
        foreach (var isNew in new[] { false, true })
        {
            bench.Known = isNew ? new() : bench.Known;
            await bench.ReopenAsync(id);
            await bench.CheckAsync(id);
            Assert.Equal(first, await SheetAsync());
        }
        Assert.Equal(2, bench.Store.Opened.Count);
        // Without its row it is measured again, and written down.
        await db.Measurements.ExecuteDeleteAsync();
        await bench.ReopenAsync(id);
        await bench.CheckAsync(id);
        Assert.Equal((4, 2), (bench.Store.Opened.Count, await db.Measurements.CountAsync()));

        async Task<string> SheetAsync() => string.Join('\n', (await bench.SheetAsync(id)).Select(e => $"{e.Code} {e.Path} {e.Severity}"));
    }

    [Fact]
    public void What_is_remembered_has_an_end()
    {
        var known = new KnownFacts();
        for (var i = 0; i < 2 * KnownFacts.Most; i++)
            known.Keep($"{i}", new RecordingFacts());
        Assert.NotNull(known.Of($"{2 * KnownFacts.Most - 1}"));
        Assert.Null(known.Of("0"));
        Assert.InRange(Enumerable.Range(0, 2 * KnownFacts.Most).Count(i => known.Of($"{i}") is not null), 1, KnownFacts.Most);
    }

    [Fact]
    public async Task Measurements_of_an_older_generation_are_made_anew()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound));
        await bench.CheckAsync(id);
        await using var db = bench.Open();
        await db.Measurements.ExecuteUpdateAsync(m => m.SetProperty(x => x.Generation, 0).SetProperty(x => x.Facts, "{}"));
        await bench.ReopenAsync(id);
        await bench.CheckAsync(id);
        Assert.Equal(2, bench.Store.Opened.Count);
        Assert.Contains("44100", (await db.Measurements.AsNoTracking().SingleAsync()).Facts, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Many_recordings_are_all_measured()
    {
        await using var bench = await MakeAsync();
        var files = Enumerable.Range(1, 130).Select(i => ($"{i}.wav", Wav((short)i, 7))).ToArray();
        var id = await bench.DraftAsync("1.0.0", files);
        await bench.CheckAsync(id);
        await using var db = bench.Open();
        Assert.Equal(130, await db.Measurements.CountAsync());
        var release = await bench.ReleaseAsync(id);
        Assert.Equal((130, 130), (release.CheckDone, release.CheckTotal));
    }

    [Fact]
    public async Task Two_recordings_are_measured_at_once_whatever_the_pool_of_threads_is_busy_with()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound), ("B3.wav", Other));
        using var both = new Barrier(2);
        var (met, pooled) = (0, 0);
        bench.Store.Opening = _ =>
        {
            Interlocked.Add(ref met, both.SignalAndWait(TimeSpan.FromMinutes(1)) ? 1 : 0);
            Interlocked.Add(ref pooled, Thread.CurrentThread.IsThreadPoolThread ? 1 : 0);
        };
        await bench.CheckAsync(id);
        Assert.Equal((2, 0), (met, pooled));
    }

    [Fact]
    public async Task A_folder_that_changes_under_the_check_stays_a_draft()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound));
        await bench.AskAsync(id);
        bench.Store.Opening = _ => bench.PutAsync(id, "B3.wav", Other).GetAwaiter().GetResult();
        Assert.IsType<CheckReleaseOutcome.FolderChanged>(await bench.RunAsync(id));
        Assert.Equal(ReleaseState.Draft, (await bench.ReleaseAsync(id)).State);
        Assert.Empty(await bench.SheetAsync(id));
    }

    [Fact]
    public async Task Limits_that_change_under_the_check_are_not_judged_by_the_old_ones()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound));
        await bench.AskAsync(id);
        bench.Store.Opening = _ =>
        {
            using var db = bench.Open();
            db.Libraries.ExecuteUpdate(l => l.SetProperty(x => x.Limits, "{\"schema\":\"libraryshelf/limits/1\",\"longestLeadInMs\":30}"));
        };
        Assert.IsType<CheckReleaseOutcome.FolderChanged>(await bench.RunAsync(id));
        bench.Store.Opening = _ => { };
        Assert.IsType<CheckReleaseOutcome.Checked>(await bench.RunAsync(id));
    }

    [Fact]
    public async Task A_wish_taken_back_under_the_check_is_heeded()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound));
        await bench.AskAsync(id);
        bench.Store.Opening = _ =>
        {
            using var db = bench.Open();
            db.Releases.Where(r => r.Id == id).ExecuteUpdate(r => r.SetProperty(x => x.CheckAskedAt, (DateTimeOffset?)null));
        };
        Assert.IsType<CheckReleaseOutcome.CalledOff>(await bench.RunAsync(id));
        Assert.Equal(ReleaseState.Draft, (await bench.ReleaseAsync(id)).State);
    }

    public static TheoryData<Exception> Unreadable() => [new IOException("disk"), new UnauthorizedAccessException("disk")];

    [Theory, MemberData(nameof(Unreadable))]
    public async Task A_stored_file_that_cannot_be_read_is_said_to_the_maker(Exception fault)
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound), ("B3.wav", Other));
        await bench.AskAsync(id);
        bench.Store.Opening = _ => throw fault;
        Assert.Equal("disk", Assert.IsType<CheckReleaseOutcome.Stopped>(await bench.RunAsync(id)).Fault!.Message);
        var release = await bench.ReleaseAsync(id);
        Assert.Equal((ReleaseState.Draft, null), (release.State, release.CheckAskedAt));
        Assert.Contains("Everything sent is kept", release.Trouble, StringComparison.Ordinal);

        bench.Store.Opening = _ => { };
        await bench.CheckAsync(id);
        Assert.Null((await bench.ReleaseAsync(id)).Trouble);
    }

    [Fact]
    public async Task Asking_waits_for_every_file()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Sound));
        await using (var db = bench.Open())
        {
            db.ReleaseFiles.Add(new ReleaseFile { ReleaseId = id, Path = "late.wav", Sha256 = new string('a', 64), Size = 5 });
            await db.SaveChangesAsync();
        }
        var notYet = Assert.IsType<AskForCheckOutcome.StillOnTheWay>(await bench.AskAsync(id));
        Assert.Equal(1, notYet.Files);
        Assert.Null((await bench.ReleaseAsync(id)).CheckAskedAt);
        await bench.PutAsync(id, "late.wav", Other);
        Assert.IsType<AskForCheckOutcome.Asked>(await bench.AskAsync(id));
    }

    [Fact]
    public async Task Asking_waits_for_a_zip_and_refuses_what_is_no_draft()
    {
        await using var bench = await MakeAsync();
        Assert.IsType<AskForCheckOutcome.NoSuchRelease>(await bench.AskAsync(99));
        var id = await bench.DraftAsync("1.0.0");
        await using var db = bench.Open();
        db.Uploads.Add(new Upload { Id = "z", ReleaseId = id, Kind = UploadKind.Zip, Path = "z.zip", FinishedAt = bench.Shelf.Clock.GetUtcNow() });
        await db.SaveChangesAsync();
        Assert.Equal(0, Assert.IsType<AskForCheckOutcome.StillOnTheWay>(await bench.AskAsync(id)).Files);
        await db.Uploads.ExecuteDeleteAsync();
        await bench.CheckAsync(id);
        Assert.Equal(FindingCodes.FolderEmpty, Assert.Single(await bench.SheetAsync(id)).Code);
        Assert.IsType<AskForCheckOutcome.NotADraft>(await bench.AskAsync(id));
    }
}
