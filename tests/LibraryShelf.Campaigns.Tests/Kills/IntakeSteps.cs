using System.Net;
using System.Text.Json;
using LibraryShelf.Campaigns.Tests.Making;
using LibraryShelf.Campaigns.Tests.Running;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Campaigns.Tests.Kills;

/// <summary>`shelf send` into a draft; after the kill the same command again.</summary>
internal sealed class SentByCommand(TrialShelf shelf) : KilledStep(shelf, "Sent By Command")
{
    /// <summary>Twelve small recordings and one of several pieces.</summary>
    private static readonly int[] Sizes = [.. Enumerable.Repeat(40_000, 12), 11_000_000];

    private long release;
    private MadeFolder folder = null!;
    private OutsideProcess? sender;
    private int wanted;
    private List<string> begun = [];

    public override async Task MakeReadyAsync(int point)
    {
        release = await Maker.StartReleaseAsync(Slug);
        folder = MakeFolder($"sent-{point}", (ulong)point + 1, Sizes);
    }

    /// <summary>Counts from the shelf's first word with the sender: before it there is nothing to kill.</summary>
    public override async Task OpenAsync()
    {
        sender = Shelf.Send(folder.Folder, Slug);
        await Waiting.UntilAsync("the plan stands, or the command has ended", async () =>
            sender.HasEnded || await AskAsync(db => db.ReleaseFiles.AnyAsync(f => f.ReleaseId == release)));
    }

    public override Task BeginAsync() => Task.CompletedTask;

    public override Task<bool> IsOverAsync() => AskAsync(db => db.Releases.AnyAsync(r => r.Id == release && (r.CheckAskedAt != null || r.CheckedAt != null)));

    public override async Task LookAsync(ShelfDb db)
    {
        sender!.Dispose();
        var held = await db.Blobs.Select(b => b.Sha256).ToHashSetAsync();
        wanted = folder.Hashes.Values.Count(hash => !held.Contains(hash));
        begun = (await db.Uploads.Where(u => u.ReleaseId == release && u.FinishedAt == null).Select(u => u.Id).ToListAsync())
            .FindAll(id => new FileInfo(Path.Combine(Shelf.Paths.Uploads, id)) is { Exists: true, Length: > 0 });
    }

    public override async Task GoOnAsync()
    {
        using var again = Shelf.Send(folder.Folder, Slug);
        var exit = await again.EndAsync(TimeSpan.FromMinutes(2));
        Assert.True(exit == 0, $"`shelf send` ended with {exit}:\n{again.Said}{again.Complained}");
        using var report = JsonDocument.Parse(again.Said);
        Assert.Equal(wanted, report.RootElement.GetProperty("sentFiles").GetInt32());
        // What had come of a file is not sent again: its upload, and no other, was gone on with.
        foreach (var id in begun)
            Assert.True(await AskAsync(db => db.Uploads.AnyAsync(u => u.Id == id && u.FinishedAt != null)), $"upload {id} was not gone on with");
        await Maker.PublishAsync(release);
        await PublishedArchive.HoldAsync(Shelf, Slug, release, folder);
    }
}

/// <summary>A zip by the form, its unpacking and its check; after the kill the zip goes on by itself, if it had arrived.</summary>
internal sealed class SentAsZip(TrialShelf shelf) : KilledStep(shelf, "Sent As Zip")
{
    private static readonly int[] Sizes = [.. Enumerable.Repeat(150_000, 12)];

    private long release;
    private MadeFolder folder = null!;
    private string zip = "";
    private bool arrived;

    public override async Task MakeReadyAsync(int point)
    {
        release = await Maker.StartReleaseAsync(Slug);
        folder = MakeFolder($"zip-{point}", (ulong)point + 5001, Sizes);
        zip = await folder.ZipAsync();
    }

    public override async Task BeginAsync()
    {
        using var answer = await Maker.SendZipAsync(release, zip);
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
    }

    public override Task<bool> IsOverAsync() => Maker.IsAsync(release, r => r.State == ReleaseState.Checked);

    public override async Task LookAsync(ShelfDb db)
    {
        arrived = await db.Uploads.AnyAsync(u => u.ReleaseId == release && u.Kind == UploadKind.Zip);
        var files = await db.ReleaseFiles.CountAsync(f => f.ReleaseId == release);
        // The list of files comes in one piece or not at all.
        Assert.True(files == 0 || files == folder.Hashes.Count, $"the draft holds {files} files of {folder.Hashes.Count}");
    }

    public override async Task GoOnAsync()
    {
        if (!arrived)
            await BeginAsync();
        await Waiting.UntilAsync("the zip is unpacked and checked", IsOverAsync);
        await Maker.PublishAsync(release);
        await PublishedArchive.HoldAsync(Shelf, Slug, release, folder);
        await Waiting.UntilAsync("the zip's own bytes are gone", () => AskAsync(async db =>
            !(await db.Uploads.Select(u => u.Id).ToListAsync()).Exists(id => File.Exists(Path.Combine(Shelf.Paths.Uploads, id)))));
    }
}
