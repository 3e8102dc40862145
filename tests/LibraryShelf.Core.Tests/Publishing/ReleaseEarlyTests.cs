using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;

namespace LibraryShelf.Core.Tests.Publishing;

public sealed class ReleaseEarlyTests
{
    [Fact]
    public async Task Chosen_people_have_it_and_others_see_nothing_of_it()
    {
        await using var bench = await OutBench.MakeAsync();
        var id = await bench.SealedAsync("1.0.0");
        Assert.Equal(2, Assert.IsType<ReleaseEarlyOutcome.Opened>(
            await bench.EarlyAsync(id, "wren@post.example,\r\n robin@post.example; WREN@post.example")).Added);
        var (wren, other) = (await bench.PersonAsync("wren@post.example"), await bench.PersonAsync("other@post.example"));
        Assert.Equal(
            (MayDownloadWhy.Early, MayDownloadWhy.NotOnTheShelf, MayDownloadWhy.NotOnTheShelf),
            (await bench.RightsAsync(id, wren), await bench.RightsAsync(id, other), await bench.RightsAsync(id, null)));
        var download = await bench.FetchAsync(id, wren);
        Assert.Equal(MayDownloadWhy.Early, (await bench.WithAsync(db => db.Downloads.FindAsync(download.DownloadId).AsTask()))!.Why);

        foreach (var (person, sees) in new[] { ((long?)wren, true), (other, false), (null, false) })
        {
            var box = await bench.WithAsync(db => new ReadBox(db, bench.Bench.Shelf.Clock).RunAsync("kettle", person, default));
            Assert.Equal(sees, box is not null);
            if (box is not null) Assert.Equal(MayDownloadWhy.Early, Assert.Single(box.Early).Why);
        }
        Assert.Equal(0, (await bench.WithAsync(db => new ReadShelf(db, bench.Bench.Shelf.Clock).RunAsync(new ShelfWish(), default))).All);
        var mine = await bench.WithAsync(db => new ReadMine(db, bench.Bench.Shelf.Clock).RunAsync(wren, default));
        Assert.Equal(MayDownloadWhy.Early, Assert.Single(Assert.Single(mine.Libraries).Releases).Why);
    }

    [Fact]
    public async Task Each_is_written_to_once_however_often_they_are_added_and_taken_off()
    {
        await using var bench = await OutBench.MakeAsync();
        var id = await bench.SealedAsync("1.0.0");
        await bench.EarlyAsync(id, "wren@post.example");
        Assert.Equal(1, Assert.IsType<ReleaseEarlyOutcome.Opened>(await bench.EarlyAsync(id, "wren@post.example robin@post.example")).Added);
        var wren = await bench.PersonAsync("wren@post.example");
        var link = await bench.FetchAsync(id, wren);
        Assert.Equal(RemoveEarlyGuestOutcome.Removed, await bench.WithAsync(db => new RemoveEarlyGuest(db).RunAsync(id, wren, default)));
        Assert.Equal(RemoveEarlyGuestOutcome.NotAmongThem, await bench.WithAsync(db => new RemoveEarlyGuest(db).RunAsync(id, wren, default)));
        Assert.Equal(MayDownloadWhy.NotOnTheShelf, await bench.RightsAsync(id, wren));
        Assert.IsType<MakeLinkOutcome.Refused>(await bench.LinkAsync(id, wren));
        await bench.EarlyAsync(id, "wren@post.example");
        var mails = await bench.MailsAsync("early:");
        Assert.Equal(["wren@post.example", "robin@post.example"], mails.Select(m => m.To));
        Assert.Contains($"{OutBench.Address}/mine", mails[0].Text, StringComparison.Ordinal);
        Assert.Contains("1.0.0 opens in Pondskater 2.3, or later.", mails[0].Text, StringComparison.Ordinal);
        Assert.DoesNotContain(link.DownloadId, mails[0].Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Published_for_all_it_is_common_and_the_early_right_is_over()
    {
        await using var bench = await OutBench.MakeAsync();
        var id = await bench.SealedAsync("1.0.0");
        await bench.EarlyAsync(id, "wren@post.example");
        var wren = await bench.PersonAsync("wren@post.example");
        Assert.Equal(PublishReleaseOutcome.Published, await bench.PublishAsync(id, Audience.Members));
        Assert.Equal(MayDownloadWhy.MembersOnly, await bench.RightsAsync(id, wren));
        Assert.Equal("", Assert.IsType<ReleaseEarlyOutcome.Refused>(await bench.EarlyAsync(id, "robin@post.example")).Refusal.Field);
    }

    [Fact]
    public async Task Withdrawn_its_guests_who_fetched_it_are_told_and_only_they_read_why()
    {
        await using var bench = await OutBench.MakeAsync();
        var id = await bench.SealedAsync("1.0.0");
        await bench.EarlyAsync(id, "wren@post.example robin@post.example");
        var wren = await bench.PersonAsync("wren@post.example");
        await bench.FetchAsync(id, wren);
        Assert.Equal(1, Assert.IsType<WithdrawReleaseOutcome.Withdrawn>(await bench.WithdrawAsync(id)).Told);
        Assert.Equal("wren@post.example", Assert.Single(await bench.MailsAsync("withdrawn:")).To);
        Assert.Equal(MayDownloadWhy.Withdrawn, await bench.RightsAsync(id, wren));
        Assert.Single((await bench.WithAsync(db => new ReadBox(db, bench.Bench.Shelf.Clock).RunAsync("kettle", wren, default)))!.Withdrawn);
        Assert.Null(await bench.WithAsync(db => new ReadBox(db, bench.Bench.Shelf.Clock).RunAsync("kettle", null, default)));
    }

    [Theory]
    [InlineData("")]
    [InlineData(" , ;\n")]
    [InlineData("wren@post.example robin")]
    public async Task What_is_no_address_gives_it_to_nobody(string typed)
    {
        await using var bench = await OutBench.MakeAsync();
        var id = await bench.SealedAsync("1.0.0");
        Assert.Equal("Addresses", Assert.IsType<ReleaseEarlyOutcome.Refused>(await bench.EarlyAsync(id, typed)).Refusal.Field);
        Assert.Equal(ReleaseState.Sealed, (await bench.Bench.ReleaseAsync(id)).State);
        Assert.Empty(await bench.MailsAsync("early:"));
    }

    [Fact]
    public async Task The_maker_declares_before_the_first_one_goes_out()
    {
        await using var bench = await OutBench.MakeAsync();
        var id = await bench.SealedAsync("1.0.0");
        await bench.Bench.ChangeAsync(id, r => r.Library.DeclaredAt = null);
        Assert.Equal("Declares", Assert.IsType<ReleaseEarlyOutcome.Refused>(await bench.EarlyAsync(id, "wren@post.example")).Refusal.Field);
        Assert.IsType<ReleaseEarlyOutcome.Opened>(await bench.EarlyAsync(id, "wren@post.example", declares: true));
        Assert.NotNull((await bench.Bench.ReleaseAsync(id)).Library.DeclaredAt);
        Assert.IsType<ReleaseEarlyOutcome.Refused>(await bench.EarlyAsync(await bench.Bench.CheckedAsync("1.1.0", ("a.wav", "b")), "wren@post.example"));
    }
}
