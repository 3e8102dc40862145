using System.Net;
using LibraryShelf.Campaigns.Tests.Running;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Campaigns.Tests.FullDisk;

/// <summary>The jobs on a full disk, all at once: each leaves its wish standing, and goes on by itself when there is room.</summary>
public sealed class FullDiskJobTests(ShelfOnSmallDisk on) : IClassFixture<ShelfOnSmallDisk>, IDisposable
{
    private const string DownloadId = "campaign-full-disk-001", MailCause = "campaign";

    private long unpack, check, seal, digest;

    private TrialShelf Shelf => on.Shelf;

    public void Dispose() => on.Disk.Clear();

    /// <summary>Waits for the sweep twice, a minute at most each time.</summary>
    [Fact]
    public async Task Every_job_waits_for_room_and_goes_on()
    {
        await MakeReadyAsync();
        await SendZipWithoutRoomAsync();
        await WishAsync();
        await on.Disk.FillAsync(Shelf);
        foreach (var job in new[] { $"CheckJob({check})", $"SealJob({seal})", "DigestJob", "MailJob", "CountJob" })
            await Waiting.UntilAsync($"{job} has met the full disk", () => Task.FromResult(Shelf.HasSaid(job)));
        await on.HoldAsync();
        await HoldOldStateAsync();
        on.Disk.Clear();
        await Waiting.UntilAsync("everything is done", IsDoneAsync);
        await on.HoldAsync();
        Assert.NotEmpty(Directory.GetFiles(Shelf.Paths.Outbox));
    }

    /// <summary>The database can't be opened without room for its log, so the program says why and ends, and keeps what is there.</summary>
    [Fact]
    public async Task A_start_on_a_full_disk_says_so()
    {
        Shelf.Kill();
        await on.Disk.FillAsync(Shelf);
        Assert.Equal(2, await Shelf.StartInVainAsync());
        Assert.Contains("The shelf did not start. The shelf’s disk is full.", Shelf.LastWords, StringComparison.Ordinal);
        on.Disk.Clear();
        await Shelf.StartAsync();
        await on.HoldAsync();
    }

    /// <summary>There is room for the zip, not for its files beside it: the release says so, and the draft is as it was.</summary>
    private async Task SendZipWithoutRoomAsync()
    {
        unpack = await on.Maker.StartReleaseAsync(await on.Maker.AddLibraryAsync("To Be Unpacked"));
        var zip = await on.MakeFolder(2_000_000, 2_000_000).ZipAsync();
        await on.Disk.FillAsync(Shelf, 6_000_000 + SmallDisk.Reserve);
        using (var answer = await on.Maker.SendZipAsync(unpack, zip))
            Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        await Waiting.UntilAsync("the release's page says so", async () =>
            WebUtility.HtmlDecode(await on.Maker.Forms.PageAsync($"/workbench/releases/{unpack}")).Contains("disk is full", StringComparison.Ordinal));
        await using var db = Shelf.Open();
        Assert.False(await db.ReleaseFiles.AnyAsync(f => f.ReleaseId == unpack));
    }

    private async Task MakeReadyAsync()
    {
        var maker = on.Maker;
        check = await maker.StartReleaseAsync(await maker.AddLibraryAsync("To Be Checked"));
        await maker.FillAsync(check, on.MakeFolder(200_000, 200_000), asChecked: false);
        seal = await maker.StartReleaseAsync(await maker.AddLibraryAsync("To Be Sealed"));
        await maker.FillAsync(seal, on.MakeFolder(200_000), asChecked: true);
        digest = await maker.StartReleaseAsync(await maker.AddLibraryAsync("To Be Read Through"));
        await maker.FillAsync(digest, on.MakeFolder(200_000), asChecked: true);
        await maker.PublishAsync(digest);
    }

    /// <summary>The rows that each job starts from.</summary>
    private async Task WishAsync()
    {
        await using var db = Shelf.Open();
        var now = TimeProvider.System.GetUtcNow();
        (await db.Releases.SingleAsync(r => r.Id == check)).CheckAskedAt = now;
        (await db.Releases.SingleAsync(r => r.Id == seal)).SealAskedAt = now;
        var archive = await db.Archives.SingleAsync(a => a.ReleaseId == digest);
        archive.Sha256 = null;
        db.Downloads.Add(new Download
        {
            Id = DownloadId, ArchiveId = archive.Id, ReleaseId = digest, LibraryId = (await db.Releases.SingleAsync(r => r.Id == digest)).LibraryId,
            Why = MayDownloadWhy.Free, MadeAt = now, StartBy = now, FinishBy = now, StartedAt = now,
        });
        db.DownloadEvents.Add(new DownloadEvent { DownloadId = DownloadId, From = 0, To = archive.Length, At = now });
        db.Outbox.Add(new OutboxMail { Cause = MailCause, To = "wader@saltmarsh.example", Subject = "Low tide", Text = "Come over.", CreatedAt = now });
        await db.SaveChangesAsync();
    }

    private async Task HoldOldStateAsync()
    {
        await using var db = Shelf.Open();
        Assert.False(await db.ReleaseFiles.AnyAsync(f => f.ReleaseId == unpack));
        Assert.NotNull((await db.Releases.SingleAsync(r => r.Id == check)).CheckAskedAt);
        Assert.NotNull((await db.Releases.SingleAsync(r => r.Id == seal)).SealAskedAt);
        Assert.Null((await db.Archives.SingleAsync(a => a.ReleaseId == digest)).Sha256);
        Assert.False(await db.DownloadTallies.AnyAsync());
        Assert.False(await db.Outbox.AnyAsync(m => m.Cause == MailCause && (m.SentAt != null || m.GaveUpAt != null)));
    }

    private async Task<bool> IsDoneAsync()
    {
        await using var db = Shelf.Open();
        return await db.Releases.AnyAsync(r => r.Id == unpack && r.State == ReleaseState.Checked)
            && await db.Releases.AnyAsync(r => r.Id == check && r.State == ReleaseState.Checked)
            && await db.Releases.AnyAsync(r => r.Id == seal && r.State == ReleaseState.Sealed)
            && !await db.Archives.AnyAsync(a => a.Sha256 == null)
            && await db.DownloadTallies.AnyAsync(t => t.DownloadId == DownloadId && t.FinishedAt != null)
            && !await db.Outbox.AnyAsync(m => m.SentAt == null);
    }
}
