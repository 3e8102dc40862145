using System.Net;
using System.Net.Http.Headers;
using System.Security.Cryptography;
using LibraryShelf.Campaigns.Tests.Running;
using LibraryShelf.Core.Catalog;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Campaigns.Tests.FullDisk;

/// <summary>
/// The disk fills right before a step: whoever waits for it hears so, nothing is half saved, the program stays up; and with room again the
/// work goes on, by itself or by the same command or button.
/// </summary>
public sealed class FullDiskTests(ShelfOnSmallDisk on) : IClassFixture<ShelfOnSmallDisk>, IDisposable
{
    private const string Full = "disk is full";

    private TrialShelf Shelf => on.Shelf;

    private Maker Maker => on.Maker;

    public void Dispose() => on.Disk.Clear();

    /// <summary>Nothing left: the plan itself can't be kept. A megabyte and a half left: the plan is kept, not all of the bytes.</summary>
    [Theory, InlineData(0, "By The Command"), InlineData(1_500_000 + SmallDisk.Reserve, "By The Command In Part")]
    public async Task A_folder_sent_by_the_command(long left, string title)
    {
        var slug = await Maker.AddLibraryAsync(title);
        var release = await Maker.StartReleaseAsync(slug);
        var folder = on.MakeFolder(300_000, 300_000, 5_000_000);
        await on.Disk.FillAsync(Shelf, left);
        using (var refused = Shelf.Send(folder.Folder, slug))
        {
            Assert.NotEqual(0, await refused.EndAsync(TimeSpan.FromMinutes(2)));
            Assert.Contains(Full, refused.Complained, StringComparison.Ordinal);
            Assert.Contains("is kept", refused.Complained, StringComparison.Ordinal);
        }
        await on.HoldAsync();
        on.Disk.Clear();
        using (var again = Shelf.Send(folder.Folder, slug))
            Assert.True(await again.EndAsync(TimeSpan.FromMinutes(2)) == 0, again.Said + again.Complained);
        await Maker.PublishAsync(release);
        await PublishedArchive.HoldAsync(Shelf, slug, release, folder);
    }

    [Fact]
    public async Task A_zip_that_finds_no_room()
    {
        var release = await Maker.StartReleaseAsync(await Maker.AddLibraryAsync("By Zip"));
        var zip = await on.MakeFolder(2_000_000, 2_000_000).ZipAsync();
        await on.Disk.FillAsync(Shelf, 1_000_000);
        using (var answer = await Maker.SendZipAsync(release, zip))
        {
            Assert.Equal(HttpStatusCode.InsufficientStorage, answer.StatusCode);
            Assert.Contains(Full, WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync()), StringComparison.Ordinal);
        }
        await on.HoldAsync();
        Assert.Empty(Directory.GetFiles(Shelf.Paths.Uploads));
        on.Disk.Clear();
        using (var again = await Maker.SendZipAsync(release, zip))
            Assert.Equal(HttpStatusCode.Redirect, again.StatusCode);
        await CheckedAsync(release);
    }

    /// <summary>What a person sends from a page, with nothing left on the disk.</summary>
    [Fact]
    public async Task Pages_that_write_say_so_and_keep_the_old_state()
    {
        var slug = await Maker.AddLibraryAsync("By Pages");
        var published = await Maker.StartReleaseAsync(slug);
        await Maker.FillAsync(published, on.MakeFolder(200_000), asChecked: true);
        await Maker.PublishAsync(published);
        var draft = await Maker.StartReleaseAsync(slug);
        await Maker.FillAsync(draft, on.MakeFolder(200_000), asChecked: false);
        var (toSeal, toPublish) = (await CheckedInAsync("By Sealing"), await CheckedInAsync("By Publishing"));
        await Maker.PressAsync($"/workbench/releases/{toPublish}/seal", "Seal", ("audience", "Free"));
        await Waiting.UntilAsync("it is sealed", () => Maker.IsAsync(toPublish, r => r.State == ReleaseState.Sealed));
        await Maker.DigestedAsync(toPublish);
        var visitor = new Forms(Shelf.Visitor);
        await on.Disk.FillAsync(Shelf);
        await SaysFullAsync(await Maker.Forms.TryPressAsync($"/workbench/releases/{toSeal}/seal", "Seal", ("audience", "Free")));
        await SaysFullAsync(await Maker.Forms.TryPressAsync($"/workbench/releases/{toPublish}/seal", "Publish", ("audience", "Free"), ("declares", "true")));
        await SaysFullAsync(await Maker.Forms.TryPressAsync($"/workbench/releases/{draft}", "Check"));
        await SaysFullAsync(await visitor.TryPressAsync($"/boxes/{slug}", "", ("release", $"{published}")));
        await SaysFullAsync(await visitor.TryPressAsync("/sign-in", "", ("Email", "wader@saltmarsh.example")));
        await on.HoldAsync();
        await using (var db = Shelf.Open())
        {
            Assert.False(await db.Downloads.AnyAsync(d => d.ReleaseId == published));
            Assert.False(await db.SignInTickets.AnyAsync());
            Assert.Null(await db.Releases.Where(r => r.Id == draft).Select(r => r.CheckAskedAt).SingleAsync());
            Assert.Null(await db.Releases.Where(r => r.Id == toSeal).Select(r => r.SealAskedAt).SingleAsync());
            Assert.Equal(ReleaseState.Sealed, await db.Releases.Where(r => r.Id == toPublish).Select(r => r.State).SingleAsync());
        }
        on.Disk.Clear();
        await Maker.PublishAsync(toSeal);
        await Maker.PressAsync($"/workbench/releases/{toPublish}/seal", "Publish", ("audience", "Free"), ("declares", "true"));
        await Waiting.UntilAsync("it is published", () => Maker.IsAsync(toPublish, r => r.State == ReleaseState.Published));
        await Maker.PressAsync($"/workbench/releases/{draft}", "Check");
        await CheckedAsync(draft);
        await PublishedArchive.LinkAsync(Shelf, slug, published);
        using var asked = await visitor.TryPressAsync("/sign-in", "", ("Email", "wader@saltmarsh.example"));
        Assert.Equal(HttpStatusCode.OK, asked.StatusCode);
        await Waiting.UntilAsync("the mail lies in the outbox", () => Task.FromResult(Directory.GetFiles(Shelf.Paths.Outbox).Length > 0));
    }

    /// <summary>Who has begun a download gets its bytes from a full disk; the account of them waits in memory, and is kept with room again.</summary>
    [Fact]
    public async Task A_download_under_way_goes_on_and_is_counted_later()
    {
        var slug = await Maker.AddLibraryAsync("By Download");
        var release = await Maker.StartReleaseAsync(slug);
        await Maker.FillAsync(release, on.MakeFolder(400_000, 400_000), asChecked: true);
        await Maker.PublishAsync(release);
        var link = await PublishedArchive.LinkAsync(Shelf, slug, release);
        using (var first = new HttpRequestMessage(HttpMethod.Get, link) { Headers = { Range = new RangeHeaderValue(0, 9) } })
        using (var begun = await Shelf.Visitor.SendAsync(first))
            Assert.Equal(HttpStatusCode.PartialContent, begun.StatusCode);
        await on.Disk.FillAsync(Shelf);
        var bytes = await Shelf.Visitor.GetByteArrayAsync(link);
        Assert.Equal(await Sums.OfArchiveAsync(Shelf, release), Convert.ToHexStringLower(SHA256.HashData(bytes)));
        await on.HoldAsync();
        on.Disk.Clear();
        await Waiting.UntilAsync("it is counted", async () =>
        {
            await using var db = Shelf.Open();
            return await db.DownloadTallies.AnyAsync(t => t.FinishedAt != null && db.Downloads.Any(d => d.Id == t.DownloadId && d.ReleaseId == release));
        });
    }

    private async Task<long> CheckedInAsync(string title)
    {
        var release = await Maker.StartReleaseAsync(await Maker.AddLibraryAsync(title));
        await Maker.FillAsync(release, on.MakeFolder(200_000), asChecked: true);
        return release;
    }

    private async Task CheckedAsync(long release) =>
        await Waiting.UntilAsync("it is checked", () => Maker.IsAsync(release, r => r.State == ReleaseState.Checked));

    private static async Task SaysFullAsync(HttpResponseMessage answer)
    {
        using (answer)
        {
            Assert.Equal(HttpStatusCode.InsufficientStorage, answer.StatusCode);
            Assert.Contains(Full, WebUtility.HtmlDecode(await answer.Content.ReadAsStringAsync()), StringComparison.Ordinal);
        }
    }
}
