using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>The letter that a month slips says what is so when it is sent, or is left out.</summary>
public sealed class SlipLetterTests
{
    private static readonly YearMonth November = new(2026, 11);
    private static readonly DateTimeOffset Saturday = new(2026, 12, 5, 12, 0, 0, TimeSpan.Zero);

    [Fact]
    public async Task It_says_why_and_when_it_comes_now_and_how_to_stop_such_letters()
    {
        await using var bench = await LetterBench.MakeAsync();
        var wren = await bench.MemberAsync("wren@post.example");
        var drop = await PlannedAsync(bench);
        var shown = await bench.Bench.WithAsync(db => new ShowSlip(db, bench.Bench.Bench.Shelf.Clock, Options.Create(bench.Settings)).RunAsync(November, " The kiln broke. ", default));
        await TellAsync(bench, "The kiln broke.");
        // Planned for another day since it was told: the letters still to go say the day that holds.
        await bench.Bench.WithAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.DueAt, Saturday.AddDays(2))));
        Assert.Equal(1, (await bench.SendAsync()).Sent);

        var letter = Assert.Single(bench.Mailer.Tried);
        var key = await bench.Bench.WithAsync(db => db.Users.Where(p => p.Id == wren).Select(p => p.LetterKey).SingleAsync());
        Assert.Equal(("wren@post.example", "November 2026 slips"), (letter.To, letter.Subject));
        Assert.Equal($"""
            The drop of November 2026 does not come when it should: it slips.

            The kiln broke.

            It is planned for Monday 7 December 2026 now. You have nothing to do. If you paid for November 2026, it stays yours: when its drop comes, it is open to you.

            You get this mail because you are a member of Saltmarsh Sound Room, or have November 2026 from before.

            You want no more mails about the month’s drop? Press the button on this page:
            https://shelf.example/letters/{key}/drop

            -- 
            Saltmarsh Sound Room
            The Old Net Loft

            """.ReplaceLineEndings("\n"), letter.Text);
        Assert.Contains($"<a href=\"https://shelf.example/letters/{key}/drop\">", letter.Html, StringComparison.Ordinal);
        Assert.Equal([("List-Unsubscribe", $"<https://shelf.example/letters/{key}/drop>"), ("List-Unsubscribe-Post", "List-Unsubscribe=One-Click")],
            letter.Headers.Select(h => (h.Key, h.Value)));
        Assert.Equal(("November 2026 slips", true, true), (shown.Subject,
            shown.Text.Contains("The kiln broke.\n\nIt is planned for Saturday 5 December 2026 now.", StringComparison.Ordinal), shown.Text.Contains("The Old Net Loft", StringComparison.Ordinal)));
        Assert.StartsWith($"slip.{drop}.{wren}.", letter.MessageId, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_is_stale_when_it_is_to_be_sent_is_left_out_and_says_why()
    {
        await using var bench = await LetterBench.MakeAsync();
        var clock = bench.Bench.Bench.Shelf.Clock;
        var (wren, robin, dunlin) = (await bench.MemberAsync("wren@post.example"), await bench.MemberAsync("robin@post.example"), await bench.MemberAsync("dunlin@post.example"));
        await PlannedAsync(bench);
        await TellAsync(bench, "The kiln broke.");
        clock.Advance(TimeSpan.FromMinutes(1));
        await TellAsync(bench, "The new kiln broke too.");
        await bench.AddAsync(new MailRefusal { PersonId = robin, Kind = MailKind.Drop });
        // Taken back whole: a gift that ended in November would leave November theirs.
        await bench.Bench.WithAsync(db => db.MembershipGrants.Where(g => g.PersonId == dunlin).ExecuteDeleteAsync());
        Assert.Equal((1, 5, 0), (await bench.SendAsync()) is var round ? (round.Sent, round.LeftOut, round.GivenUp) : default);
        Assert.Contains("The new kiln broke too.", Assert.Single(bench.Mailer.Tried).Text, StringComparison.Ordinal);
        var rows = await bench.Bench.WithAsync(db => db.Outbox.AsNoTracking().OrderBy(m => m.Id).ToListAsync());
        Assert.Equal(("Not sent: the slip was told anew since, and the newest letter tells of it.", true), (rows.First(m => m.PersonId == wren).LastError, rows.First(m => m.PersonId == wren).IsLeftOut));
        Assert.Equal("Not sent: they want no mails of this kind.", rows.Last(m => m.PersonId == robin).LastError);
        Assert.Equal("Not sent: they are no member any more, and don’t have this month.", rows.Last(m => m.PersonId == dunlin).LastError);

        clock.Advance(TimeSpan.FromMinutes(1));
        await TellAsync(bench, "And again.");
        await bench.Bench.WithAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.State, DropState.Sent)));
        Assert.Equal((0, 1), (await bench.SendAsync()) is var last ? (last.Sent, last.LeftOut) : default);
        Assert.Equal("Not sent: the drop is out meanwhile, and its own letter tells of it.", await bench.Bench.WithAsync(db => db.Outbox.OrderByDescending(m => m.Id).Where(m => m.PersonId == wren).Select(m => m.LastError).FirstAsync()));
    }

    [Fact]
    public async Task It_goes_after_what_is_about_one_person_and_over_the_hours_that_letters_are_spread_over()
    {
        await using var bench = await LetterBench.MakeAsync();
        var clock = bench.Bench.Bench.Shelf.Clock;
        for (var n = 0; n < 8; n++)
            await bench.MemberAsync($"wren{n}@post.example");
        await PlannedAsync(bench);
        await TellAsync(bench, "The kiln broke.");
        await bench.AddAsync(new OutboxMail { Cause = "welcome:1", To = "new@post.example", Subject = "Welcome", Text = "Hello.", CreatedAt = clock.GetUtcNow() });
        await bench.SendAsync();
        Assert.Equal("new@post.example", bench.Mailer.Tried[0].To);
        Assert.Equal(9, bench.Mailer.Tried.Count);

        bench.Settings.Mail.SpreadHours = 8;
        clock.Advance(TimeSpan.FromMinutes(1));
        await TellAsync(bench, "The new kiln broke too.");
        var at = await bench.Bench.WithAsync(db => db.Outbox.Where(m => m.SentAt == null).Select(m => m.NextTryAt!.Value).ToListAsync());
        Assert.Equal((8, true, true), (at.Distinct().Count(), at.Min() >= clock.GetUtcNow(), at.Max() > clock.GetUtcNow().AddHours(5)));
    }

    [Fact]
    public async Task Of_two_accounts_made_one_each_telling_is_sent_once()
    {
        await using var bench = await LetterBench.MakeAsync();
        var clock = bench.Bench.Bench.Shelf.Clock;
        await bench.MemberAsync("wren@post.example");
        await bench.MemberAsync("robin@post.example");
        await PlannedAsync(bench);
        await TellAsync(bench, "The kiln broke.");
        await bench.SendAsync();
        clock.Advance(TimeSpan.FromMinutes(1));
        await TellAsync(bench, "The new kiln broke too.");
        Assert.IsType<MergeOutcome.Merged>(await bench.Bench.WithAsync(db => new MergePeople(db, clock).RunAsync("wren@post.example", "robin@post.example", default)));
        bench.Mailer.Tried.Clear();
        await bench.SendAsync();
        Assert.Contains("The new kiln broke too.", Assert.Single(bench.Mailer.Tried, m => m.Subject.Contains("slips", StringComparison.Ordinal)).Text, StringComparison.Ordinal);
    }

    /// <summary>November's drop, to come late.</summary>
    private static async Task<long> PlannedAsync(LetterBench bench)
    {
        var drop = new Drop { Month = November, DueAt = Saturday, CreatedAt = bench.Bench.Bench.Shelf.Clock.GetUtcNow() };
        await bench.AddAsync(drop);
        return drop.Id;
    }

    private static Task TellAsync(LetterBench bench, string reason) => bench.Bench.WithAsync(async db => Assert.IsType<TellOfSlipOutcome.Told>(
        await new TellOfSlip(db, bench.Bench.Bench.Shelf.Clock, Options.Create(bench.Settings)).RunAsync(November, reason, await db.Drops.Select(d => (int?)d.Revision).SingleAsync(), default)));
}
