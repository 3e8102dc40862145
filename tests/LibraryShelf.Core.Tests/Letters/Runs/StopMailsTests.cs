using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Letters.Runs;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Tests.Publishing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Letters.Runs;

/// <summary>Mails to many, stopped on their way and sent on: none is lost, none goes twice, and none goes between.</summary>
public sealed class StopMailsTests
{
    [Fact]
    public async Task Stopped_while_they_go_only_the_one_on_the_wire_goes_on_and_the_others_when_they_are_sent_on()
    {
        await using var letters = await LetterBench.MakeAsync();
        var release = await letters.Bench.PublishedAsync("1.0.0");
        List<long> people = [];
        for (var i = 0; i < 25; i++)
            people.Add(await letters.MemberAsync($"reader-{i}@post.example"));
        var drop = await letters.SentDropAsync([release], [.. people]);
        var run = new MailRun(MailRunKind.Drop, drop);
        Assert.Equal(new MailsGone(25, 0, 0, 0, null, false), await ReadAsync(letters, run));

        letters.Mailer.Answer = _ =>
        {
            // The seventh of the first ten that were read together.
            if (letters.Mailer.Tried.Count == 7)
                Assert.Equal(25 - 6, Assert.IsType<StopMailsOutcome.Stopped>(StopAsync(letters, run).GetAwaiter().GetResult()).Gone.Waiting);
            return null;
        };
        Assert.Equal(new OutboxRound(7, 0, 0, null), await letters.SendAsync());
        var stopped = await ReadAsync(letters, run);
        Assert.Equal((25, 7, 18, letters.Bench.Bench.Shelf.Clock.GetUtcNow()), (stopped.Written, stopped.Sent, stopped.Waiting, stopped.StoppedAt));
        // Nothing of it is due, however long it takes; a program started anew reads the same.
        letters.Bench.Bench.Shelf.Clock.Advance(TimeSpan.FromDays(3));
        Assert.Equal(new OutboxRound(0, 0, 0, null), await letters.SendAsync());
        Assert.Equal((0, 18), await letters.Bench.WithAsync(async db => ((await new ReadOutbox(db).RunAsync(default)).Waiting, await db.Outbox.CountAsync(m => m.SentAt == null && m.Attempts == 0))));

        Assert.Equal(18, (await OnAsync(letters, run))!.Waiting);
        Assert.Null(await OnAsync(letters, run));
        await letters.SendAsync();
        Assert.Equal(people.Count, letters.Mailer.Tried.Select(m => m.To).Distinct().Count());
        Assert.Equal(people.Count, letters.Mailer.Tried.Count);
        Assert.Equal(new MailsGone(25, 25, 0, 0, null, false), await ReadAsync(letters, run));
        // What has gone can't be stopped any more.
        Assert.IsType<StopMailsOutcome.NoneWaits>(await StopAsync(letters, run));
        Assert.Equal(0, await letters.Bench.WithAsync(db => db.MailHolds.CountAsync()));
    }

    [Fact]
    public async Task Others_go_meanwhile_and_what_is_written_later_is_stopped_with_them()
    {
        await using var letters = await LetterBench.MakeAsync();
        var release = await letters.Bench.PublishedAsync("1.0.0");
        var (ada, wren) = (await letters.MemberAsync("ada@post.example"), await letters.MemberAsync("wren@post.example"));
        var drop = await letters.SentDropAsync([release], ada);
        // Begins alike, and is another's.
        await letters.AddAsync(new OutboxMail { Cause = $"drop:{drop}1:{ada}", AboutId = drop * 10 + 1, PersonId = ada }, new OutboxMail { Cause = "welcome:1", To = "ada@post.example", Subject = "S", Text = "T" });
        var run = new MailRun(MailRunKind.Drop, drop);
        Assert.IsType<StopMailsOutcome.Stopped>(await StopAsync(letters, run));
        Assert.IsType<StopMailsOutcome.Stopped>(await StopAsync(letters, run));
        await letters.AddAsync(letters.Row($"drop:{drop}:{wren}", drop, wren));
        await letters.SendAsync();
        Assert.NotNull((await letters.RowAsync("welcome:1")).SentAt);
        Assert.NotNull((await letters.RowAsync($"drop:{drop}1:{ada}")).GaveUpAt);
        Assert.Equal(new MailsGone(2, 0, 0, 0, letters.Bench.Bench.Shelf.Clock.GetUtcNow(), false), await ReadAsync(letters, run));
        var listed = Assert.Single(await letters.Bench.WithAsync(db => new ListStoppedMails(db).RunAsync(default)));
        Assert.Equal((run, "2026-11"), (listed.Run, NodaTime.Text.YearMonthPattern.Iso.Format(listed.Month!.Value)));
    }

    [Fact]
    public async Task A_versions_mails_are_stopped_with_those_to_followers_also_before_they_are_written()
    {
        await using var letters = await LetterBench.MakeAsync();
        var old = await letters.Bench.PublishedAsync("1.0.0");
        var ada = await letters.MemberAsync("ada@post.example");
        await letters.FetchWholeAsync(old, ada);
        var next = await letters.Bench.SealedAsync("1.1.0");
        Assert.Equal(PublishReleaseOutcome.Published, await letters.Bench.WithAsync(db => new PublishRelease(db, letters.Bench.Bench.Shelf.Clock)
            .RunAsync(next, LibraryShelf.Core.Catalog.Audience.Free, declares: false, OutBench.Address, default)));
        var run = new MailRun(MailRunKind.Version, next);
        Assert.True((await ReadAsync(letters, run)).IsBeingWritten);
        Assert.Equal(0, Assert.IsType<StopMailsOutcome.Stopped>(await StopAsync(letters, run)).Gone.Written);
        await letters.Bench.TellAsync(next);
        await letters.AddAsync(letters.Row($"follow:{next}:1", next, null));
        await letters.SendAsync();
        Assert.Empty(letters.Mailer.Tried);
        Assert.Equal((2, 2, false), await ReadAsync(letters, run) is var gone ? (gone.Written, gone.Waiting, gone.IsBeingWritten) : default);
        var listed = Assert.Single(await letters.Bench.WithAsync(db => new ListStoppedMails(db).RunAsync(default)));
        Assert.Equal(run, listed.Run);
        Assert.EndsWith(" 1.1.0", listed.Version, StringComparison.Ordinal);

        await OnAsync(letters, run);
        await letters.SendAsync();
        Assert.Single(letters.Mailer.Tried);
        // Of a follower who is none any more nothing goes.
        Assert.Equal((1, 1), await ReadAsync(letters, run) is var after ? (after.Sent, after.LeftOut) : default);
    }

    [Fact]
    public async Task A_letter_is_stopped_and_of_nothing_nothing_is()
    {
        await using var letters = await LetterBench.MakeAsync();
        var release = await letters.Bench.PublishedAsync("1.0.0");
        var run = new MailRun(MailRunKind.Letter, release);
        Assert.Equal(0, Assert.IsType<StopMailsOutcome.NoneWaits>(await StopAsync(letters, run)).Gone.Written);
        await letters.AddAsync(new BehindLetter { ReleaseId = release, AskedAt = letters.Bench.Bench.Shelf.Clock.GetUtcNow() }, letters.Row($"behind:{release}:1", release, 1));
        Assert.True((await ReadAsync(letters, run)).IsBeingWritten);
        Assert.IsType<StopMailsOutcome.Stopped>(await StopAsync(letters, run));
        await letters.SendAsync();
        Assert.Empty(letters.Mailer.Tried);
        Assert.Equal(run, Assert.Single(await letters.Bench.WithAsync(db => new ListStoppedMails(db).RunAsync(default))).Run);
    }

    [Fact]
    public async Task Of_a_slip_that_was_told_twice_the_letters_of_the_newest_telling_count()
    {
        await using var letters = await LetterBench.MakeAsync();
        var now = letters.Bench.Bench.Shelf.Clock.GetUtcNow();
        var drop = new Drop { Month = new NodaTime.YearMonth(2026, 12), State = DropState.Cancelled, SlippedAt = now, SlippedBecause = "The kiln broke.", DueAt = now };
        await letters.AddAsync(drop);
        var (run, before) = (new MailRun(MailRunKind.Slip, drop.Id), $"{now.AddDays(-1).ToUnixTimeMilliseconds()}");
        await letters.AddAsync([.. Enumerable.Range(1, 3).Select(i => letters.Row($"slip:{drop.Id}:{i}:{before}", drop.Id, i)), .. Enumerable.Range(1, 2).Select(i => letters.Row($"slip:{drop.Id}:{i}:{drop.SlipMark}", drop.Id, i))]);
        Assert.Equal(new MailsGone(2, 0, 0, 0, null, false), await ReadAsync(letters, run));
        // Those of before would be left out, and wait with the others.
        Assert.Equal(2, Assert.IsType<StopMailsOutcome.Stopped>(await StopAsync(letters, run)).Gone.Waiting);
        Assert.Equal(new OutboxRound(0, 0, 0, null), await letters.SendAsync());
        await letters.Bench.WithAsync(db => db.Drops.ExecuteUpdateAsync(s => s.SetProperty(d => d.SlippedAt, (DateTimeOffset?)null)));
        Assert.Equal(5, (await ReadAsync(letters, run)).Waiting);
    }

    [Theory]
    [InlineData(MailRunKind.Withdrawal, "withdrawn:7:")]
    [InlineData(MailRunKind.Price, "price:7:")]
    [InlineData(MailRunKind.Credit, "credit:7:")]
    public async Task What_somebody_has_to_get_says_how_far_it_is_and_is_not_stopped(MailRunKind kind, string begins)
    {
        await using var letters = await LetterBench.MakeAsync();
        await letters.AddAsync([.. Enumerable.Range(1, 3).Select(i => new OutboxMail { Cause = $"{begins}{i}", To = $"reader-{i}@post.example", Subject = "S", Text = "T", CreatedAt = letters.Bench.Bench.Shelf.Clock.GetUtcNow() }),
            // Begins alike, and is another's.
            new OutboxMail { Cause = begins.Replace("7", "71", StringComparison.Ordinal) + "1", To = "x@post.example", Subject = "S", Text = "T" }]);
        var run = new MailRun(kind, 7);
        Assert.Equal((3, 3), await ReadAsync(letters, run) is var waits ? (waits.Written, waits.Waiting) : default);
        Assert.IsType<StopMailsOutcome.HasToBeTold>(await StopAsync(letters, run));
        Assert.Equal(0, await letters.Bench.WithAsync(db => db.MailHolds.CountAsync()));
        await letters.SendAsync();
        Assert.Equal(4, letters.Mailer.Tried.Count);
        Assert.Equal((3, 0), await ReadAsync(letters, run) is var gone ? (gone.Sent, gone.Waiting) : default);
    }

    private static Task<StopMailsOutcome> StopAsync(LetterBench letters, MailRun run) => letters.Bench.WithAsync(db => new StopMails(db, letters.Bench.Bench.Shelf.Clock).RunAsync(run, default));

    private static Task<MailsGone?> OnAsync(LetterBench letters, MailRun run) => letters.Bench.WithAsync(db => new SendMailsOn(db).RunAsync(run, default));

    private static Task<MailsGone> ReadAsync(LetterBench letters, MailRun run) => letters.Bench.WithAsync(db => new ReadMailRun(db).RunAsync(run, default));
}
