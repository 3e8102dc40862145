using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Tests.Publishing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Faults;

public sealed class FaultTests
{
    private static Task<ReportFaultOutcome> TellAsync(OutBench bench, ToldFault fault, long? personId = null) => bench.WithAsync(
        db => new ReportFault(db, new ReadRights(db, bench.Bench.Shelf.Clock), bench.Bench.Shelf.Clock).RunAsync("kettle", fault, personId, default));

    private static async Task<long> ToldAsync(OutBench bench, ToldFault fault, long? personId = null) =>
        Assert.IsType<ReportFaultOutcome.Reported>(await TellAsync(bench, fault, personId)).FaultId;

    private static Task<SettleFaultOutcome> SettleAsync(OutBench bench, long fault, FaultSettlement settlement, string? answer = null)
    {
        bench.Bench.Shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        return bench.WithAsync(db => new SettleFault(db, bench.Bench.Shelf.Clock).RunAsync(fault, settlement, answer, default));
    }

    private static async Task<FaultList> ListAsync(OutBench bench) => (await bench.WithAsync(db => new ReadFaults(db).RunAsync("kettle", default)))!;

    [Fact]
    public async Task What_is_told_stands_open_until_the_release_in_work_mends_it_and_its_publishing_tells_who_told()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        var wren = await bench.PersonAsync("wren@post.example");
        var fault = await ToldAsync(bench, new ToldFault(first, 60, "A.WAV", " It <b>clicks</b>. "), wren);
        var visitors = await ToldAsync(bench, new ToldFault(first, null, null, "It hums."));
        Assert.Equal(SettleFaultOutcome.NothingInWork, await SettleAsync(bench, fault, FaultSettlement.Mended));

        var draft = await bench.Bench.CheckedAsync("1.0.1", ("b.wav", "1.0.0")); // moved, the same bytes
        var list = await ListAsync(bench);
        Assert.Equal((2, "1.0.1"), (list.People, list.InWork!.Number));
        Assert.Equal([(fault, (bool?)true), (visitors, null)], list.Open.Select(l => (l.Report.Id, l.IsUnchanged)));
        Assert.Equal(("1.0.0", (int?)60, "a.wav", "It <b>clicks</b>."), (list.Open[0].Number, list.Open[0].Report.Key, list.Open[0].Report.Path, list.Open[0].Report.Words));

        foreach (var one in new[] { fault, visitors })
            Assert.Equal(SettleFaultOutcome.Settled, await SettleAsync(bench, one, FaultSettlement.Mended));
        Assert.Equal(SettleFaultOutcome.Unchanged, await SettleAsync(bench, fault, FaultSettlement.PutAway, "no"));
        await bench.Bench.SealedAsync(draft);
        await bench.EarlyAsync(draft, "robin@post.example");
        Assert.Empty(await bench.MailsAsync("mended:")); // early is not published
        await bench.PublishAsync(draft);
        var mail = Assert.Single(await bench.MailsAsync("mended:"));
        Assert.Equal(($"mended:{fault}:{draft}", "wren@post.example"), (mail.Cause, mail.To));
        Assert.Contains("in Mended Kettle 1.0.0, on the key C4:\n\n> It <b>clicks</b>.", mail.Text, StringComparison.Ordinal);
        Assert.Contains("Version 1.0.1 mends it", mail.Text, StringComparison.Ordinal);
        Assert.Contains($"{OutBench.Address}/boxes/kettle", mail.Text, StringComparison.Ordinal);
        Assert.Equal(SettleFaultOutcome.ToldAlready, await SettleAsync(bench, fault, FaultSettlement.OpenAgain));
    }

    [Fact]
    public async Task A_recording_whose_bytes_are_others_in_the_release_in_work_is_said_to_be_changed()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        await ToldAsync(bench, new ToldFault(first, null, "a.wav", "It clicks."));
        await bench.Bench.CheckedAsync("1.0.1", ("a.wav", "recorded again"));
        Assert.False(Assert.Single((await ListAsync(bench)).Open).IsUnchanged);
    }

    [Fact]
    public async Task Put_away_with_an_answer_it_is_mailed_and_can_be_opened_and_answered_again()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        var fault = await ToldAsync(bench, new ToldFault(first, null, null, "It hums."), await bench.PersonAsync("wren@post.example"));
        var visitors = await ToldAsync(bench, new ToldFault(first, null, null, "It hums."));
        Assert.Equal(SettleFaultOutcome.TooLong, await SettleAsync(bench, fault, FaultSettlement.PutAway, new string('x', SettleFault.MaxAnswerLength + 1)));
        Assert.Equal(SettleFaultOutcome.Answered, await SettleAsync(bench, fault, FaultSettlement.PutAway, "It is the kettle."));
        Assert.Equal(SettleFaultOutcome.Settled, await SettleAsync(bench, visitors, FaultSettlement.PutAway, "Nobody hears this."));
        Assert.Contains("> It is the kettle.", Assert.Single(await bench.MailsAsync("answered:")).Text, StringComparison.Ordinal);
        Assert.Equal(SettleFaultOutcome.Settled, await SettleAsync(bench, fault, FaultSettlement.OpenAgain));
        Assert.Single((await ListAsync(bench)).Open);
        Assert.Equal(SettleFaultOutcome.Answered, await SettleAsync(bench, fault, FaultSettlement.PutAway, "It is the lid."));
        Assert.Equal(2, (await bench.MailsAsync("answered:")).Count);
        Assert.Equal(SettleFaultOutcome.NoSuchFault, await SettleAsync(bench, 99, FaultSettlement.PutAway));
    }

    [Fact]
    public async Task Discarding_the_draft_that_was_to_mend_it_opens_it_again()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        var fault = await ToldAsync(bench, new ToldFault(first, null, null, "It hums."));
        var draft = await bench.Bench.CheckedAsync("1.0.1", ("a.wav", "b"));
        await SettleAsync(bench, fault, FaultSettlement.Mended);
        Assert.Empty((await ListAsync(bench)).Open);
        await bench.WithAsync(db => new DiscardDraft(db, new UploadDesk(bench.Bench.Shelf.Paths)).RunAsync(draft, default));
        Assert.Equal(fault, Assert.Single((await ListAsync(bench)).Open).Report.Id);
        Assert.False(await bench.WithAsync(db => db.Releases.AnyAsync(r => r.Id == draft)));
    }

    [Fact]
    public async Task Mended_in_a_version_that_never_came_out_it_is_told_with_the_next_that_holds_the_mend()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        var fault = await ToldAsync(bench, new ToldFault(first, null, null, "It hums."), await bench.PersonAsync("wren@post.example"));
        var never = await MendedAsync(bench, fault, "1.1.0");
        await bench.PublishedAsync("1.0.1"); // a lower number went on from 1.0.0
        Assert.Empty(await bench.MailsAsync("mended:"));
        var next = await bench.PublishedAsync("1.1.1");
        var mail = Assert.Single(await bench.MailsAsync("mended:"));
        Assert.Equal(($"mended:{fault}:{next}", "wren@post.example"), (mail.Cause, mail.To));
        Assert.Contains("Version 1.1.1 mends it", mail.Text, StringComparison.Ordinal);
        Assert.Equal("1.1.1", Assert.Single((await ListAsync(bench)).Settled).MendedIn);
        await bench.PublishAsync(never);
        await bench.PublishedAsync("1.1.2");
        Assert.Single(await bench.MailsAsync("mended:"));
    }

    [Fact]
    public async Task Mended_in_a_version_that_is_withdrawn_before_anyone_was_told_it_is_open_again_and_told_when_mended_anew()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        var fault = await ToldAsync(bench, new ToldFault(first, null, null, "It hums."), await bench.PersonAsync("wren@post.example"));
        var early = await MendedAsync(bench, fault, "1.0.1");
        await bench.EarlyAsync(early, "robin@post.example");
        await bench.WithdrawAsync(early);
        Assert.Equal(fault, Assert.Single((await ListAsync(bench)).Open).Report.Id);
        await bench.PublishedAsync("1.0.2"); // nobody says that this one mends it
        Assert.Empty(await bench.MailsAsync("mended:"));
        var third = await MendedAsync(bench, fault, "1.0.3");
        await bench.PublishAsync(third);
        Assert.Equal($"mended:{fault}:{third}", Assert.Single(await bench.MailsAsync("mended:")).Cause);

        // That one goes too: open again, and told of the next that mends it.
        await bench.WithdrawAsync(third);
        Assert.Equal(fault, Assert.Single((await ListAsync(bench)).Open).Report.Id);
        var fourth = await MendedAsync(bench, fault, "1.0.4");
        await bench.PublishAsync(fourth);
        await bench.PublishedAsync("1.0.5");
        Assert.Equal([$"mended:{fault}:{third}", $"mended:{fault}:{fourth}"], (await bench.MailsAsync("mended:")).Select(m => m.Cause));

        // 1.0.5 holds the mend of 1.0.4, so withdrawing that one opens nothing and tells nobody.
        await bench.WithdrawAsync(fourth);
        Assert.Empty((await ListAsync(bench)).Open);
        Assert.Equal("1.0.5", Assert.Single((await ListAsync(bench)).Settled).MendedIn);
        Assert.Equal(2, (await bench.MailsAsync("mended:")).Count);
    }

    private static async Task<long> MendedAsync(OutBench bench, long fault, string number)
    {
        var draft = await bench.Bench.CheckedAsync(number, ("a.wav", number));
        Assert.Equal(SettleFaultOutcome.Settled, await SettleAsync(bench, fault, FaultSettlement.Mended));
        await bench.Bench.SealedAsync(draft);
        return draft;
    }

    [Fact]
    public async Task Only_a_version_of_this_box_that_is_open_to_them_and_only_with_words()
    {
        await using var bench = await OutBench.MakeAsync();
        var (free, notOut) = (await bench.PublishedAsync("1.0.0"), await bench.SealedAsync("1.1.0"));
        foreach (var id in new[] { notOut, 99 })
            Assert.IsType<ReportFaultOutcome.NotTheirs>(await TellAsync(bench, new ToldFault(id, null, null, "It hums.")));
        Assert.IsType<ReportFaultOutcome.NotTheirs>(await bench.WithAsync(db => new ReportFault(db, new ReadRights(db, bench.Bench.Shelf.Clock), bench.Bench.Shelf.Clock)
            .RunAsync("other-box", new ToldFault(free, null, null, "It hums."), null, default)));
        await bench.EarlyAsync(notOut, "wren@post.example");
        await ToldAsync(bench, new ToldFault(notOut, null, null, "It hums."), await bench.PersonAsync("wren@post.example"));

        var refused = Assert.IsType<ReportFaultOutcome.Refused>(await TellAsync(bench, new ToldFault(free, 128, "b.wav", " ")));
        Assert.Equal(["Key", "Recording", "Words"], refused.Refusals.Select(r => r.Field));
        refused = Assert.IsType<ReportFaultOutcome.Refused>(await TellAsync(bench, new ToldFault(free, null, null, new string('x', ReportFault.MaxWordsLength + 1))));
        Assert.Equal("Words", Assert.Single(refused.Refusals).Field);
    }
}
