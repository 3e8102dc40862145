using System.IO.Compression;
using System.Text;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Intake.IntakeBench;

namespace LibraryShelf.Core.Tests.Intake;

/// <summary>Paths that must never be stored, through each door; and names that may wait in a draft, but not past its check sheet.</summary>
public sealed class HostilePathTests : IDisposable
{
    private static readonly byte[] A = Bytes("the kettle, low");
    private readonly IntakeBench bench = new();

    public void Dispose() => bench.Dispose();

    /// <summary>The path, what the message shows of it, and a word of the reason.</summary>
    public static TheoryData<string, string, string> NeverStored() => new()
    {
        { "../a.wav", "../a.wav", "climbs out" },
        { "low/../../a.wav", "low/../../a.wav", "climbs out" },
        { "./a.wav", "./a.wav", "climbs out" },
        { "low/..", "low/..", "climbs out" },
        { "/etc/a.wav", "/etc/a.wav", "root of a disk" },
        { "C:\\a.wav", "C:\\a.wav", "drive" },
        { "c:a.wav", "c:a.wav", "drive" },
        { "C:/a.wav", "C:/a.wav", "drive" },
        { "//server/share/a.wav", "//server/share/a.wav", "network" },
        { "\\\\server\\share\\a.wav", "\\\\server\\share\\a.wav", "network" },
        { "\\\\?\\C:\\a.wav", "\\\\?\\C:\\a.wav", "network" },
        { "\\\\.\\COM1", "\\\\.\\COM1", "network" },
        { "low\\a.wav", "low\\a.wav", "backslash" },
        { "..\\a.wav", "..\\a.wav", "backslash" },
        { "low//a.wav", "low//a.wav", "empty part" },
        { "a\u0001.wav", "a\uFFFD.wav", "control character" },
        { "a\n.wav", "a\uFFFD.wav", "control character" },
        { "a\u0000.wav", "a\uFFFD.wav", "control character" },
        { "a\u0085.wav", "a\uFFFD.wav", "control character" },
        { "a\u202Evaw.exe", "a\uFFFDvaw.exe", "direction of reading" },
        { "a\u2066b\u2069.wav", "a\uFFFDb\uFFFD.wav", "direction of reading" },
        { "\uFEFFa.wav", "\uFFFDa.wav", "control character" },
        { "a\uFFFD.wav", "a\uFFFD.wav", "not readable as text" },
        { "low/" + new string('x', 1100), "low/xxx", "1,024" },
    };

    [Theory, MemberData(nameof(NeverStored))]
    public async Task In_a_zip_it_refuses_the_zip(string path, string shown, string reason)
    {
        var before = await FilledDraftAsync();
        using var stream = new MemoryStream();
        await using (var zip = new ZipArchive(stream, ZipArchiveMode.Create, leaveOpen: true, Encoding.UTF8))
            foreach (var name in new[] { "fine.wav", path })
            {
                await using var entry = await zip.CreateEntry(name).OpenAsync();
                await entry.WriteAsync(A);
            }
        var id = await bench.StartedAsync("kettle.zip", stream.Length, null, UploadKind.Zip);
        await bench.AppendAsync(id, 0, stream.ToArray());
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(id));
        Holds((await bench.ReleaseAsync()).Trouble!, "kettle.zip", shown, reason);
        Assert.Equal(before, await bench.DraftAsync());
    }

    /// <summary>A zip's one top folder is taken off; what stands behind it is held to the same rules.</summary>
    [Fact]
    public async Task Behind_a_zips_top_folder_a_drive_is_refused_too()
    {
        var before = await FilledDraftAsync();
        using var stream = new MemoryStream();
        await using (var zip = new ZipArchive(stream, ZipArchiveMode.Create, leaveOpen: true, Encoding.UTF8))
            foreach (var name in new[] { "Kettle/fine.wav", "Kettle/C:a.wav" })
            {
                await using var entry = await zip.CreateEntry(name).OpenAsync();
                await entry.WriteAsync(A);
            }
        var id = await bench.StartedAsync("kettle.zip", stream.Length, null, UploadKind.Zip);
        await bench.AppendAsync(id, 0, stream.ToArray());
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(id));
        Holds((await bench.ReleaseAsync()).Trouble!, "kettle.zip", "C:a.wav");
        Assert.Equal(before, await bench.DraftAsync());
    }

    [Fact]
    public async Task The_first_file_of_a_version_is_held_to_its_limit_too()
    {
        bench.Settings.Intake.MaxReleaseBytes = 2048;
        Holds(Assert.IsType<StartUploadOutcome.TooLarge>(await bench.StartAsync("take.wav", 2049)).Message, "take.wav", "2,048");
        Assert.IsType<StartUploadOutcome.Started>(await bench.StartAsync("take.wav", 2048));
    }

    [Theory, MemberData(nameof(NeverStored))]
    public async Task In_a_plan_it_refuses_the_plan(string path, string shown, string reason)
    {
        var before = await FilledDraftAsync();
        var refused = Assert.IsType<PlanOutcome.Refused>(await bench.PlanAsync(Line("fine.wav", A), Line(path, A)));
        Assert.Equal(path, refused.Path);
        Holds(refused.Message, shown, reason);
        Assert.Equal(before, await bench.DraftAsync());
    }

    [Theory, MemberData(nameof(NeverStored))]
    public async Task In_an_upload_it_refuses_the_upload(string path, string shown, string reason)
    {
        var before = await FilledDraftAsync();
        Holds(Assert.IsType<StartUploadOutcome.Refused>(await bench.StartAsync(path, 10)).Message, shown, reason);
        await using var db = bench.Db();
        Assert.Equal(0, await db.Uploads.CountAsync(u => u.FinishedAt == null));
        Assert.Equal(before, await bench.DraftAsync());
    }

    // Windows' names: https://learn.microsoft.com/windows/win32/fileio/naming-a-file. Å is U+00C5, U+212B and A with U+030A
    // (Unicode Standard Annex 15, table 2).
    public static TheoryData<string, string> MustBeMended() => new()
    {
        { "low/NUL.wav", "other.wav" },
        { "con", "other.wav" },
        { "COM1.take.wav", "other.wav" },
        { "low/a.", "other.wav" },
        { "low/a ", "other.wav" },
        { " a.wav", "other.wav" },
        { "what?.wav", "other.wav" },
        { new string('x', 121), "other.wav" },
        { "KETTLE.wav", "kettle.wav" },
        { "\u00C5.wav", "A\u030A.wav" },
        { "\u00C5.wav", "\u212B.wav" },
        { "low", "low/a.wav" },
    };

    [Theory, MemberData(nameof(MustBeMended))]
    public async Task Waiting_in_a_draft_it_is_named_on_the_check_sheet_and_stops_the_sealing(string path, string beside)
    {
        await bench.SendAsync("placeholder.txt", A);
        Assert.Empty(Assert.IsType<PlanOutcome.Planned>(await bench.PlanAsync(Line(path, A), Line(beside, A))).Wanted);
        await using var db = bench.Db();
        Assert.IsType<AskForCheckOutcome.Asked>(await new AskForCheck(db, bench.Clock).RunAsync(bench.ReleaseId, CancellationToken.None));
        Assert.IsType<CheckReleaseOutcome.Checked>(await new CheckRelease(db, bench.Store, bench.Clock).RunAsync(bench.ReleaseId, CancellationToken.None));
        var named = await db.SheetEntries.Where(e => e.Code == FindingCodes.NameUnportable || e.Code == FindingCodes.NameCollision).ToListAsync();
        Assert.NotEmpty(named);
        Assert.All(named, e => Assert.Equal(Severity.MustFix, e.Severity));
        Assert.Contains(named, e => $"{e.Path} {e.Message}".Contains(path, StringComparison.Ordinal));
        foreach (var entry in named)
            Assert.IsType<ExcuseFindingOutcome.Refused>(
                await new ExcuseFinding(db, bench.Clock).RunAsync(bench.ReleaseId, entry.Id, "It is meant so.", CancellationToken.None));
        Assert.IsNotType<AskForSealOutcome.Asked>(await new AskForSeal(db, bench.Clock).RunAsync(bench.ReleaseId, publishFor: null, declares: false, CancellationToken.None));
    }

    [Fact]
    public async Task Files_that_each_fitted_alone_are_held_to_the_limit_when_they_end()
    {
        bench.Settings.Intake.MaxReleaseBytes = 2048;
        var ids = new List<string>();
        for (var i = 0; i < 3; i++)
            ids.Add(await bench.StartedAsync($"take {i}.wav", 1000));
        for (var i = 0; i < 2; i++)
            Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(ids[i], 0, new byte[1000]));
        var before = await bench.DraftAsync();
        Holds(Assert.IsType<UploadOutcome.TooLarge>(await bench.AppendAsync(ids[2], 0, new byte[1000])).Message, "take 2.wav", "2,048");
        Assert.Equal(before, await bench.DraftAsync());
        Assert.False(bench.Desk.HasBytes(ids[2]));
        bench.Settings.Intake.MaxFiles = 2;
        bench.Settings.Intake.MaxReleaseBytes = long.MaxValue;
        Holds(Assert.IsType<StartUploadOutcome.TooLarge>(await bench.StartAsync("take 3.wav", 1)).Message, "take 3.wav", "2 files");
    }

    private async Task<string> FilledDraftAsync()
    {
        await bench.SendAsync("old.wav", A);
        return await bench.DraftAsync();
    }

    private static void Holds(string message, params string[] parts) =>
        Assert.All(parts, part => Assert.Contains(part, message, StringComparison.Ordinal));
}
