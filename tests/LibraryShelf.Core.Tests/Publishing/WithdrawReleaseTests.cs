using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Publishing;

public sealed class WithdrawReleaseTests
{
    [Fact]
    public async Task Everyone_who_fetched_it_is_told_once_and_offered_the_newest_they_may_have()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        var (took, pressed) = (await bench.PersonAsync("wren@post.example"), await bench.PersonAsync("robin@post.example"));
        await bench.FetchAsync(first, took);
        await bench.FetchAsync(first, took); // twice is one person
        await bench.LinkAsync(first, pressed); // a link that was never used fetched nothing
        await bench.FetchAsync(first, null); // a visitor can't be written to
        await bench.PublishedAsync("1.0.1");
        await bench.PublishedAsync("0.9.0");

        Assert.Equal(1, Assert.IsType<WithdrawReleaseOutcome.Withdrawn>(await bench.WithdrawAsync(first, " The tin\nrattles. ")).Told);
        var mail = Assert.Single(await bench.MailsAsync("withdrawn:"));
        Assert.Equal(($"withdrawn:{first}:{took}", "wren@post.example"), (mail.Cause, mail.To));
        Assert.Contains("> The tin\n> rattles.", mail.Text, StringComparison.Ordinal);
        Assert.Contains("Version 1.0.1 is there in its place", mail.Text, StringComparison.Ordinal);
        Assert.Contains("1.0.1 opens in Pondskater 2.3, or later.", mail.Text, StringComparison.Ordinal);
        Assert.Contains($"{OutBench.Address}/boxes/kettle", mail.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("/get/", mail.Text, StringComparison.Ordinal);
        Assert.Contains("You get this mail once, because", mail.Text, StringComparison.Ordinal);
        Assert.Contains("The Old Net Loft", mail.Text, StringComparison.Ordinal);

        Assert.IsType<WithdrawReleaseOutcome.NotOut>(await bench.WithdrawAsync(first));
        await bench.PublishedAsync("1.0.2"); // they were offered one already
        Assert.Empty(await bench.MailsAsync("mended-after:"));
        Assert.Single(await bench.MailsAsync("withdrawn:"));
    }

    [Fact]
    public async Task Whoever_could_be_offered_none_is_told_when_a_mended_one_is_published()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        var took = await bench.PersonAsync("wren@post.example");
        await bench.FetchAsync(first, took);
        await bench.WithdrawAsync(first);
        Assert.Contains("There is no mended version for you yet.", Assert.Single(await bench.MailsAsync("withdrawn:")).Text, StringComparison.Ordinal);

        await bench.PublishedAsync("0.9.9"); // not newer
        await bench.PublishedAsync("1.0.1", Audience.Members); // not theirs
        Assert.Empty(await bench.MailsAsync("mended-after:"));
        var third = await bench.PublishedAsync("1.0.2");
        var mail = Assert.Single(await bench.MailsAsync("mended-after:"));
        Assert.Equal(($"mended-after:{third}:{took}", "wren@post.example"), (mail.Cause, mail.To));
        Assert.Contains("Version 1.0.2 of Mended Kettle is on the shelf.", mail.Text, StringComparison.Ordinal);
        await bench.PublishedAsync("1.0.3");
        Assert.Single(await bench.MailsAsync("mended-after:"));
    }

    [Fact]
    public async Task Its_links_stop_before_and_after_their_start_and_the_makers_own_go_on()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        var took = await bench.PersonAsync("wren@post.example");
        var maker = await bench.PersonAsync("maker@post.example");
        await bench.WithAsync(db => db.Users.Where(p => p.Id == maker).ExecuteUpdateAsync(s => s.SetProperty(p => p.IsMaker, true)));
        var (running, waiting) = (await bench.FetchAsync(first, took), Assert.IsType<MakeLinkOutcome.Made>(await bench.LinkAsync(first, took)));
        var hers = Assert.IsType<MakeLinkOutcome.Made>(await bench.LinkAsync(first, maker));
        await bench.WithdrawAsync(first);

        // A request between the opening of a link and its first byte sees it too.
        Assert.Equal(LinkTrouble.Withdrawn, await bench.WithAsync(db => new StartDownload(db, bench.Bench.Shelf.Clock).RunAsync(new() { Id = waiting.DownloadId }, default)));
        Assert.Null(await bench.WithAsync(db => new StartDownload(db, bench.Bench.Shelf.Clock).RunAsync(new() { Id = hers.DownloadId }, default)));
        using var layouts = new ArchiveLayouts(bench.Bench.Store);
        var uses = new LinkUses(Microsoft.Extensions.Options.Options.Create(new Core.Shared.ShelfSettings()));
        foreach (var (link, isOpen) in new[] { (running, false), (waiting, false), (hers, true) })
        {
            var outcome = await bench.WithAsync(db => new OpenLink(db, layouts, uses, bench.Bench.Shelf.Clock).RunAsync(link.Path, default));
            Assert.Equal(isOpen, outcome is OpenLinkOutcome.Open);
            Assert.True(isOpen || outcome is OpenLinkOutcome.Refused { Trouble: LinkTrouble.Withdrawn });
        }
        Assert.Equal(MayDownloadWhy.Withdrawn, await bench.RightsAsync(first, took));
        Assert.Equal("The tin rattles.", (await bench.WithAsync(db => new ReadLinkAbout(db).RunAsync(running.DownloadId, default)))!.WithdrawnBecause);
    }

    [Fact]
    public async Task A_reason_is_asked_for_and_only_what_is_out_can_be_withdrawn()
    {
        await using var bench = await OutBench.MakeAsync();
        var id = await bench.SealedAsync("1.0.0");
        Assert.IsType<WithdrawReleaseOutcome.NotOut>(await bench.WithdrawAsync(id));
        await bench.PublishAsync(id);
        foreach (var reason in new[] { null, " \n ", new string('x', WithdrawRelease.MaxReasonLength + 1) })
            Assert.Equal("Reason", Assert.IsType<WithdrawReleaseOutcome.Refused>(await bench.WithdrawAsync(id, reason)).Refusal.Field);
        Assert.Equal(ReleaseState.Published, (await bench.Bench.ReleaseAsync(id)).State);
        Assert.IsType<WithdrawReleaseOutcome.NoSuchRelease>(await bench.WithdrawAsync(id + 99));
    }

    [Fact]
    public async Task The_box_stays_and_says_so_when_nothing_else_is_on_the_shelf()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        await bench.WithdrawAsync(first);
        var box = await bench.WithAsync(db => new ReadBox(db, bench.Bench.Shelf.Clock).RunAsync("kettle", null, default));
        Assert.Empty(box!.Versions);
        Assert.Equal(("1.0.0", "The tin rattles."), (Assert.Single(box.Withdrawn).Number, box.Withdrawn[0].WithdrawnBecause));
    }
}
