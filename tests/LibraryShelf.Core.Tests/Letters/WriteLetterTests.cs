using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Tests.Publishing;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>What a letter says, by what is so when it is sent.</summary>
public sealed class WriteLetterTests
{
    [Fact]
    public async Task A_drops_letter_says_what_is_in_it_for_this_person_and_how_to_stop()
    {
        await using var bench = await LetterBench.MakeAsync();
        var (first, wren, robin) = (await bench.Bench.PublishedAsync("1.0.0"), await bench.MemberAsync("wren@post.example"), await bench.MemberAsync("robin@post.example"));
        await bench.FetchWholeAsync(first, wren);
        var second = await bench.Bench.PublishedAsync("1.1.0", Audience.Members);
        await bench.UpdateAsync(first, second, 1234);
        var drop = await bench.SentDropAsync([second], wren, robin);
        Assert.Equal(2, (await bench.SendAsync()).Sent);

        var letter = bench.Mailer.Tried.Single(m => m.To == "wren@post.example");
        var key = await bench.Bench.WithAsync(db => db.Users.Where(p => p.Id == wren).Select(p => p.LetterKey).SingleAsync());
        Assert.Equal("November 2026: Salt and reeds", letter.Subject);
        Assert.StartsWith($"drop.{drop}.{wren}.", letter.MessageId, StringComparison.Ordinal);
        var size = await bench.Bench.WithAsync(db => db.Archives.Where(a => a.ReleaseId == second).Select(a => a.Length).SingleAsync());
        Assert.Equal($"""
            Salt and reeds: the drop of November 2026 is out.

            Struck softly, by the marsh (https://marsh.example).

            Mended Kettle 1.1.0
            -------------------
            - opens in Pondskater 2.3, or later
            - {DataSize.Of(size)} as a whole
            - 1 kB for you, as an update from your 1.0.0

            It is on your page:

            https://shelf.example/mine#2026-11

            You get this mail because you were a member of Saltmarsh Sound Room when the drop of November 2026 went out, or have November 2026 from before.

            You want no more mails about the month’s drop? Press the button on this page:
            https://shelf.example/letters/{key}/drop

            -- 
            Saltmarsh Sound Room
            The Old Net Loft

            """.ReplaceLineEndings("\n"), letter.Text);
        Assert.Contains("<h2", letter.Html, StringComparison.Ordinal);
        Assert.Contains($"<a href=\"https://shelf.example/letters/{key}/drop\">", letter.Html, StringComparison.Ordinal);
        Assert.Equal([("List-Unsubscribe", $"<https://shelf.example/letters/{key}/drop>"), ("List-Unsubscribe-Post", "List-Unsubscribe=One-Click")],
            letter.Headers.Select(h => (h.Key, h.Value)));
        Assert.DoesNotContain("as an update", bench.Mailer.Tried.Single(m => m.To == "robin@post.example").Text, StringComparison.Ordinal);
        var row = await bench.RowAsync($"drop:{drop}:{wren}");
        Assert.Equal(("wren@post.example", "November 2026: Salt and reeds", ""), (row.To, row.Subject, row.Text));
    }

    [Fact]
    public async Task What_is_not_to_be_told_any_more_is_left_out_quietly()
    {
        await using var bench = await LetterBench.MakeAsync();
        var first = await bench.Bench.PublishedAsync("1.0.0", Audience.Members);
        var (wren, never, refuses) = (await bench.MemberAsync("wren@post.example"), await bench.Bench.PersonAsync("robin@post.example"), await bench.MemberAsync("dunlin@post.example"));
        await bench.AddAsync(new MailRefusal { PersonId = refuses, Kind = MailKind.Drop });
        var drop = await bench.SentDropAsync([first], wren, never, refuses, 999);
        await bench.Bench.WithdrawSilentlyAsync(first);
        Assert.Equal(new OutboxRound(0, 0, 0, null) { LeftOut = 4 }, await bench.SendAsync());
        Assert.Empty(bench.Mailer.Tried);
        var reasons = new Dictionary<long, string>
        {
            [wren] = "not on the shelf any more", [never] = "not on the shelf any more", [refuses] = "want no mails of this kind", [999] = "not there any more",
        };
        foreach (var (person, why) in reasons)
        {
            var row = await bench.RowAsync($"drop:{drop}:{person}");
            Assert.True(row.IsLeftOut);
            Assert.Contains(why, row.LastError, StringComparison.Ordinal);
        }
        // Nobody is alerted of it.
        Assert.Equal(0, await bench.Bench.WithAsync(db => new LibraryShelf.Core.Alerts.WatchOutbox(db, bench.Bench.Bench.Shelf.Clock).RunAsync(default)));
    }

    [Fact]
    public async Task What_is_on_the_shelf_but_not_theirs_any_more_says_so_to_the_maker()
    {
        await using var bench = await LetterBench.MakeAsync();
        var first = await bench.Bench.PublishedAsync("1.0.0", Audience.Members);
        var robin = await bench.Bench.PersonAsync("robin@post.example"); // refunded since the drop went out
        var drop = await bench.SentDropAsync([first], robin);
        await bench.SendAsync();
        Assert.Contains("not open to them any more", (await bench.RowAsync($"drop:{drop}:{robin}")).LastError, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_new_version_is_told_once_to_whoever_has_an_earlier_one_and_may_have_it()
    {
        await using var bench = await LetterBench.MakeAsync();
        var first = await bench.Bench.PublishedAsync("1.0.0");
        var (wren, dropped, refuses, maker) = (await bench.Bench.PersonAsync("wren@post.example"), await bench.MemberAsync("robin@post.example"),
            await bench.Bench.PersonAsync("dunlin@post.example"), await bench.Bench.PersonAsync("maker@post.example"));
        foreach (var person in new[] { wren, dropped, refuses, maker })
            await bench.Bench.FetchAsync(first, person);
        await bench.Bench.PersonAsync("knot@post.example"); // fetched nothing
        await bench.AddAsync(new MailRefusal { PersonId = refuses, Kind = MailKind.NewVersion });
        await bench.Bench.WithAsync(db => db.Users.Where(p => p.Id == maker).ExecuteUpdateAsync(s => s.SetProperty(p => p.IsMaker, true)));
        var second = await bench.Bench.SealedAsync("1.1.0");
        await bench.SentDropAsync([second], dropped);
        await bench.Bench.PublishAsync(second);
        Assert.Equal([$"version:{second}:{wren}", $"version:{second}:{dropped}"], (await bench.Bench.MailsAsync("version:")).Select(m => m.Cause));

        await bench.SendAsync();
        var letter = bench.Mailer.Tried.Single(m => m.To == "wren@post.example");
        Assert.Equal("Mended Kettle 1.1.0 is there", letter.Subject);
        Assert.Contains("The last you fetched is 1.0.0.", letter.Text, StringComparison.Ordinal);
        Assert.Contains("What changed\n------------\nWhat 1.1.0 changed.", letter.Text, StringComparison.Ordinal);
        Assert.Contains("https://shelf.example/mine#kettle", letter.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("/get/", letter.Text, StringComparison.Ordinal);
        // One mail about it: the drop's.
        Assert.StartsWith("November 2026", Assert.Single(bench.Mailer.Tried, m => m.To == "robin@post.example").Subject, StringComparison.Ordinal);
        Assert.Contains("the letter of the drop", (await bench.RowAsync($"version:{second}:{dropped}")).LastError, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_new_version_that_is_not_theirs_or_was_outdone_is_not_told()
    {
        await using var bench = await LetterBench.MakeAsync();
        var wren = await bench.Bench.PersonAsync("wren@post.example");
        var robin = await bench.MemberAsync("robin@post.example");
        var first = await bench.Bench.PublishedAsync("1.0.0");
        await bench.Bench.FetchAsync(first, wren);
        await bench.Bench.FetchAsync(first, robin);
        var second = await bench.Bench.PublishedAsync("1.1.0", Audience.Members);
        Assert.Equal($"version:{second}:{robin}", Assert.Single(await bench.Bench.MailsAsync("version:")).Cause);
        var third = await bench.Bench.PublishedAsync("1.2.0", Audience.Members);
        await bench.Bench.PublishedAsync("1.1.1", Audience.Members); // below what they are told of
        await bench.SendAsync();
        Assert.Equal("Mended Kettle 1.2.0 is there", Assert.Single(bench.Mailer.Tried).Subject);
        Assert.Null(await bench.Bench.WithAsync(db => db.Outbox.Where(m => m.Cause == $"version:{third}:{robin}").Select(m => m.LastError).SingleAsync()));
        Assert.True((await bench.RowAsync($"version:{second}:{robin}")).IsLeftOut);
    }

    [Fact]
    public async Task A_follower_is_told_with_a_link_of_their_own_and_nobody_twice()
    {
        await using var bench = await LetterBench.MakeAsync();
        var first = await bench.Bench.PublishedAsync("1.0.0");
        var wren = await bench.Bench.PersonAsync("wren@post.example");
        await bench.Bench.FetchAsync(first, wren);
        var library = await bench.Bench.WithAsync(db => db.Libraries.Select(l => l.Id).SingleAsync());
        Follower Follows(string email, bool isConfirmed) => new()
        {
            LibraryId = library, Email = email, NormalizedEmail = email.ToUpperInvariant(), Key = "key-" + email, AskedAt = default, ConfirmedAt = isConfirmed ? DateTimeOffset.UnixEpoch : null,
        };
        await bench.AddAsync(Follows("knot@post.example", true), Follows("ruff@post.example", false), Follows("wren@post.example", true));
        await bench.Bench.PublishedAsync("1.1.0", Audience.Members);
        await bench.SendAsync();
        var letter = Assert.Single(bench.Mailer.Tried, m => m.To == "knot@post.example");
        Assert.Contains("on the shelf, for members", letter.Text, StringComparison.Ordinal);
        Assert.Contains("https://shelf.example/boxes/kettle", letter.Text, StringComparison.Ordinal);
        Assert.Equal("<https://shelf.example/letters/key-knot@post.example/follow>", letter.Headers[0].Value);
        Assert.DoesNotContain(bench.Mailer.Tried, m => m.To == "ruff@post.example");
        Assert.Single(bench.Mailer.Tried, m => m.To == "wren@post.example");
    }

    [Fact]
    public async Task The_maker_sees_the_letter_of_a_planned_drop_and_sends_it_to_herself_as_often_as_she_likes()
    {
        await using var bench = await LetterBench.MakeAsync();
        var first = await bench.Bench.SealedAsync("1.0.0");
        var maker = await bench.Bench.PersonAsync("maker@post.example");
        await bench.Bench.WithAsync(db => db.Users.ExecuteUpdateAsync(s => s.SetProperty(p => p.IsMaker, true)));
        var drop = await bench.SentDropAsync([first]);
        await bench.Bench.WithAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.State, LibraryShelf.Core.Drops.DropState.Planned)));
        var settings = Options.Create(bench.Settings);
        var shown = (await bench.Bench.WithAsync(db => new ShowLetter(db, settings).RunAsync(drop, default)))!;
        for (var press = 0; press < 2; press++)
            Assert.Equal(RehearseOutcome.MailOnItsWay, await bench.Bench.WithAsync(db => new RehearseDrop(db, bench.Bench.Bench.Shelf.Clock, settings).RunAsync(drop, maker, default)));
        await bench.SendAsync();
        Assert.Equal(2, bench.Mailer.Tried.Count);
        Assert.All(bench.Mailer.Tried, m => Assert.Equal(("maker@post.example", "Rehearsal: " + shown.Subject, shown.Text), (m.To, m.Subject, m.Text)));
        Assert.Empty(bench.Mailer.Tried[0].Headers);
        Assert.Equal(RehearseOutcome.NothingInIt, await bench.Bench.WithAsync(db => new RehearseDrop(db, bench.Bench.Bench.Shelf.Clock, settings).RunAsync(drop + 1, maker, default)));
    }

    [Fact]
    public async Task Of_two_accounts_made_one_the_drops_letter_of_either_tells_of_its_versions()
    {
        await using var bench = await LetterBench.MakeAsync();
        var first = await bench.Bench.PublishedAsync("1.0.0");
        var wren = await bench.MemberAsync("wren@post.example");
        await bench.FetchWholeAsync(first, wren);
        var second = await bench.Bench.PublishedAsync("1.1.0"); // writes wren's letter about it
        var drop = await bench.SentDropAsync([second]);
        await bench.AddAsync(bench.Row($"drop:{drop}:999", drop, wren)); // written to the account that joined
        Assert.Equal((1, 1), (await bench.SendAsync()) is var round ? (round.Sent, round.LeftOut) : default);
        Assert.Contains("the letter of the drop tells of it", (await bench.RowAsync($"version:{second}:{wren}")).LastError, StringComparison.Ordinal);
    }
}
