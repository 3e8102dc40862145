using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Downloads;

public sealed class OpenLinkTests
{
    /// <summary>The signature covers whom the link was made for; the row says whose it is now.</summary>
    [Fact]
    public async Task A_download_under_way_outlasts_the_merging_of_two_accounts_twice()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        foreach (var who in new[] { "wren", "robin", "dunlin" })
            await shelf.PersonAsync($"{who}@post.example");
        var robin = await shelf.WithAsync(db => db.Users.Where(p => p.Email == "robin@post.example").Select(p => p.Id).SingleAsync());
        var made = await shelf.MadeAsync(robin);
        await shelf.StartAsync(made.DownloadId);
        foreach (var (stays, joins) in new[] { ("wren", "robin"), ("dunlin", "wren") })
        {
            Assert.IsType<MergeOutcome.Merged>(await shelf.WithAsync(db => new MergePeople(db, shelf.Temp.Clock).RunAsync($"{stays}@post.example", $"{joins}@post.example", default)));
            Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(made.Path));
            Assert.Equal(LinkTrouble.Altered, await shelf.TroubleAsync(made.Path[..^1] + (made.Path[^1] == 'A' ? 'E' : 'A')));
        }
        await shelf.WithAsync(db => db.Downloads.ExecuteUpdateAsync(d => d.SetProperty(x => x.RevokedAt, shelf.Now)));
        Assert.Equal(LinkTrouble.Revoked, await shelf.TroubleAsync(made.Path));
    }

    [Fact]
    public async Task A_fresh_link_opens_its_archive()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var made = await shelf.MadeAsync();
        var open = Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(made.Path));
        Assert.Equal(shelf.RecipeSha256, open.Archive.RecipeSha256);
        Assert.Equal(shelf.Length, open.Layout.Length);
        Assert.Equal(made.DownloadId, open.Download.Id);
        Assert.Null(open.Download.StartedAt);
    }

    [Fact]
    public async Task It_starts_a_download_for_thirty_minutes_and_not_a_moment_longer()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var made = await shelf.MadeAsync();
        Assert.Equal(TimeSpan.FromMinutes(30), made.StartBy - shelf.Now);
        shelf.Temp.Clock.SetUtcNow(made.StartBy - TimeSpan.FromMilliseconds(1));
        Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(made.Path));
        shelf.Temp.Clock.SetUtcNow(made.StartBy);
        Assert.Equal(LinkTrouble.StartRunOut, await shelf.TroubleAsync(made.Path));
        Assert.Equal(LinkTrouble.StartRunOut, await shelf.StartAsync(made.DownloadId));
    }

    [Fact]
    public async Task A_started_download_may_be_resumed_for_a_day_after_that()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var made = await shelf.MadeAsync();
        Assert.Null(await shelf.StartAsync(made.DownloadId));
        Assert.Equal(TimeSpan.FromHours(24), made.FinishBy - made.StartBy);
        shelf.Temp.Clock.SetUtcNow(made.FinishBy - TimeSpan.FromMilliseconds(1));
        Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(made.Path));
        shelf.Temp.Clock.SetUtcNow(made.FinishBy);
        Assert.Equal(LinkTrouble.ResumeRunOut, await shelf.TroubleAsync(made.Path));
    }

    [Fact]
    public async Task The_times_are_settings()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        (shelf.Settings.Links.StartMinutes, shelf.Settings.Links.ResumeHours) = (5, 2);
        var made = await shelf.MadeAsync();
        Assert.Equal(TimeSpan.FromMinutes(5), made.StartBy - shelf.Now);
        Assert.Equal(TimeSpan.FromHours(2), made.FinishBy - made.StartBy);
    }

    [Fact]
    public async Task A_revoked_link_opens_nothing_from_the_next_request_on()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var made = await shelf.MadeAsync();
        Assert.Null(await shelf.StartAsync(made.DownloadId));
        Assert.True(await shelf.WithAsync(db => new RevokeDownload(db, shelf.Temp.Clock).RunAsync(made.DownloadId, default)));
        Assert.Equal(LinkTrouble.Revoked, await shelf.TroubleAsync(made.Path));
        Assert.Equal(LinkTrouble.Revoked, await shelf.StartAsync(made.DownloadId));
    }

    [Fact]
    public async Task A_withdrawn_version_is_closed_to_all_but_the_maker()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var (forVisitor, forMaker) = (await shelf.MadeAsync(), await shelf.MadeAsync(await shelf.PersonAsync("maker@example.org", isMaker: true)));
        await shelf.WithAsync(async db =>
        {
            Assert.True((await db.Releases.SingleAsync()).MoveTo(ReleaseState.Withdrawn, shelf.Now));
            return await db.SaveChangesAsync();
        });
        Assert.Equal(LinkTrouble.Withdrawn, await shelf.TroubleAsync(forVisitor.Path));
        Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(forMaker.Path));
    }

    [Fact]
    public async Task A_recipe_missing_from_the_store_is_a_fault_that_is_named()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var made = await shelf.MadeAsync();
        File.Delete(shelf.Blobs.LocalPath(shelf.RecipeSha256)!);
        var refused = Assert.IsType<OpenLinkOutcome.Refused>(await shelf.OpenAsync(made.Path));
        Assert.Equal((LinkTrouble.Gone, made.DownloadId), (refused.Trouble, refused.DownloadId));
        var about = await shelf.WithAsync(db => new ReadLinkAbout(db).RunAsync(refused.DownloadId, default));
        Assert.Equal(("mended-kettle", true), (about!.Slug, about.IsOnShelf));
        Assert.Null(await shelf.WithAsync(db => new ReadLinkAbout(db).RunAsync("no-such-download", default)));
    }

    [Fact]
    public async Task A_link_moved_to_another_download_or_never_made_is_refused()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var (one, other) = (await shelf.MadeAsync(), await shelf.MadeAsync(await shelf.PersonAsync("wren@example.org")));
        Assert.Equal(LinkTrouble.Altered, await shelf.TroubleAsync(one.Path.Replace(one.DownloadId, other.DownloadId, StringComparison.Ordinal)));
        Assert.Equal(LinkTrouble.Unknown, await shelf.TroubleAsync(one.Path.Replace(one.DownloadId, "AAAAAAAAAAAAAAAAAAAAAA", StringComparison.Ordinal)));
        Assert.Equal(LinkTrouble.Altered, await shelf.TroubleAsync("/get/x"));
    }

    [Fact]
    public async Task A_link_is_bound_to_the_person_it_was_made_for()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var made = await shelf.MadeAsync(await shelf.PersonAsync("wren@example.org"));
        await shelf.WithAsync(db => db.Downloads.ExecuteUpdateAsync(s => s.SetProperty(d => d.PersonId, (long?)null)));
        Assert.Equal(LinkTrouble.Altered, await shelf.TroubleAsync(made.Path));
    }

    [Fact]
    public async Task Of_many_first_requests_at_once_one_writes_the_start()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var made = await shelf.MadeAsync();
        Assert.All(await Task.WhenAll(Enumerable.Range(0, 8).Select(_ => Task.Run(() => shelf.StartAsync(made.DownloadId)))), trouble => Assert.Null(trouble));
        var first = (await shelf.WithAsync(db => db.Downloads.SingleAsync())).StartedAt;
        Assert.Equal(shelf.Now, first);
        shelf.Temp.Clock.Advance(TimeSpan.FromMinutes(3));
        Assert.Null(await shelf.StartAsync(made.DownloadId));
        Assert.Equal(first, (await shelf.WithAsync(db => db.Downloads.SingleAsync())).StartedAt);
    }

    [Fact]
    public async Task Links_made_at_once_on_an_empty_key_ring_all_open()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var made = await Task.WhenAll(Enumerable.Range(0, 8).Select(_ => Task.Run(() => shelf.MadeAsync())));
        foreach (var one in made) Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(one.Path));
    }

    [Fact]
    public async Task A_retired_key_verifies_until_none_of_its_links_can_live_and_signs_no_more()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        (shelf.Settings.Links.StartMinutes, shelf.Settings.Links.ResumeHours) = (24 * 60, 24 * 14); // the longest the settings allow
        var made = await shelf.MadeAsync();
        Assert.Null(await shelf.StartAsync(made.DownloadId));
        var retired = shelf.Now;
        await shelf.WithAsync(db => db.LinkKeys.ExecuteUpdateAsync(s => s.SetProperty(k => k.RetiredAt, retired)));
        shelf.Temp.Clock.SetUtcNow(made.FinishBy - TimeSpan.FromSeconds(1));
        Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(made.Path));
        shelf.Temp.Clock.SetUtcNow(retired + LinkKeyRing.RetiredLife);
        Assert.Equal(LinkTrouble.ResumeRunOut, await shelf.TroubleAsync(made.Path));
        // And the key itself is worth nothing any more, even if the row still gave time.
        await shelf.WithAsync(db => db.Downloads.ExecuteUpdateAsync(s => s.SetProperty(d => d.FinishBy, shelf.Now + TimeSpan.FromDays(9))));
        Assert.Equal(LinkTrouble.Altered, await shelf.TroubleAsync(made.Path));

        var next = await shelf.MadeAsync();
        Assert.Contains("&key=2&", next.Path, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_may_not_be_downloaded_gets_no_link_and_no_row()
    {
        await using var shelf = await StockedShelf.MakeAsync(Audience.Members);
        Assert.Equal(MayDownloadWhy.SignInFirst, Assert.IsType<MakeLinkOutcome.Refused>(await shelf.MakeLinkAsync()).Why);
        Assert.Equal(0, await shelf.WithAsync(db => db.Downloads.CountAsync()));
    }
}
