using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Publishing;

/// <summary>Who fetched any withdrawn version hears of each withdrawal that concerns them once, and of a good version once.</summary>
public sealed class ToldTrulyTests
{
    [Fact]
    public async Task Whoever_was_offered_a_version_that_is_withdrawn_too_is_told_and_offered_the_next()
    {
        await using var bench = await OutBench.MakeAsync();
        var (first, second) = (await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.0.1"));
        var (stayed, went) = (await bench.PersonAsync("wren@post.example"), await bench.PersonAsync("robin@post.example"));
        await bench.FetchAsync(first, stayed);
        await bench.FetchAsync(first, went);
        await bench.WithdrawAsync(first);
        await bench.FetchAsync(second, went);

        Assert.Equal(2, Assert.IsType<WithdrawReleaseOutcome.Withdrawn>(await bench.WithdrawAsync(second, "It hums.")).Told);
        var told = await bench.MailsAsync($"withdrawn:{second}:");
        Assert.Equal(["robin@post.example", "wren@post.example"], told.Select(m => m.To).Order());
        Assert.Contains("You were told of version 1.0.1 of Mended Kettle, in place of 1.0.0", told.Single(m => m.To.StartsWith("wren", StringComparison.Ordinal)).Text, StringComparison.Ordinal);
        Assert.Contains("You fetched this version.", told.Single(m => m.To.StartsWith("robin", StringComparison.Ordinal)).Text, StringComparison.Ordinal);
        Assert.All(told, m => Assert.Contains("There is no mended version for you yet.", m.Text, StringComparison.Ordinal));

        var third = await bench.PublishedAsync("1.0.2");
        await bench.PublishedAsync("1.0.3"); // they were offered one already
        var offered = await bench.MailsAsync("mended-after:");
        Assert.Equal([$"mended-after:{third}:{stayed}", $"mended-after:{third}:{went}"], offered.Select(m => m.Cause).Order(StringComparer.Ordinal));
        Assert.Contains("in place of 1.0.0,", offered.Single(m => m.To.StartsWith("wren", StringComparison.Ordinal)).Text, StringComparison.Ordinal);
        Assert.Contains("in place of 1.0.1,", offered.Single(m => m.To.StartsWith("robin", StringComparison.Ordinal)).Text, StringComparison.Ordinal);

        // Offered 1.0.2, had 1.0.3 in sight all along: told of 1.0.2's end, offered 1.0.3 in the same mail.
        await bench.WithdrawAsync(third);
        told = await bench.MailsAsync($"withdrawn:{third}:");
        Assert.Equal(2, told.Count);
        Assert.All(told, m => Assert.Contains("Version 1.0.3 is there in its place", m.Text, StringComparison.Ordinal));
        Assert.Equal(2, (await bench.MailsAsync("mended-after:")).Count);
    }

    [Fact]
    public async Task Whoever_has_a_newer_good_one_is_left_in_peace_of_what_they_were_offered()
    {
        await using var bench = await OutBench.MakeAsync();
        var (first, second) = (await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.0.1"));
        var took = await bench.PersonAsync("wren@post.example");
        await bench.FetchAsync(first, took);
        await bench.WithdrawAsync(first);
        await bench.FetchAsync(await bench.PublishedAsync("1.0.2"), took);
        Assert.Equal(0, Assert.IsType<WithdrawReleaseOutcome.Withdrawn>(await bench.WithdrawAsync(second)).Told);
        Assert.Empty(await bench.MailsAsync($"withdrawn:{second}:"));
        await bench.PublishedAsync("1.0.3");
        Assert.Empty(await bench.MailsAsync("mended-after:"));

        // Fetched before its withdrawal, beside a newer one: told, and told that nothing is to be done.
        var (old, other) = (await bench.PublishedAsync("1.1.0"), await bench.PersonAsync("robin@post.example"));
        await bench.FetchAsync(old, other);
        await bench.FetchAsync(await bench.PublishedAsync("1.2.0"), other);
        await bench.WithdrawAsync(old);
        Assert.Contains("You have fetched version 1.2.0 since.", Assert.Single(await bench.MailsAsync($"withdrawn:{old}:")).Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Of_two_withdrawn_versions_one_mail_offers_the_mended_one()
    {
        await using var bench = await OutBench.MakeAsync();
        var took = await bench.PersonAsync("wren@post.example");
        long[] both = [await bench.PublishedAsync("1.0.0"), await bench.PublishedAsync("1.0.1")];
        foreach (var id in both)
            await bench.FetchAsync(id, took);
        foreach (var id in both)
            await bench.WithdrawAsync(id);
        Assert.Equal(2, (await bench.MailsAsync("withdrawn:")).Count);
        var third = await bench.PublishedAsync("1.0.2");
        Assert.Equal($"mended-after:{third}:{took}", Assert.Single(await bench.MailsAsync("mended-after:")).Cause);
    }

    [Fact]
    public async Task Who_could_not_have_it_then_and_can_now_is_told_with_the_next_that_comes()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        var took = await bench.PersonAsync("wren@post.example");
        await bench.FetchAsync(first, took);
        await bench.WithdrawAsync(first);
        await bench.PublishedAsync("1.0.1", Audience.Members);
        Assert.Empty(await bench.MailsAsync("mended-after:"));
        var low = await bench.PublishedAsync("1.0.0-rc.1"); // lower than theirs; the library is free again with it
        Assert.Equal("1.0.1", (await OfferedAsync(bench, took))!);
        Assert.Empty(await bench.MailsAsync($"mended-after:{low}:"));
        Assert.Single(await bench.MailsAsync("mended-after:"));
    }

    [Fact]
    public async Task What_a_kill_leaves_untold_the_next_run_tells_and_nobody_twice()
    {
        await using var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        foreach (var name in new[] { "wren", "robin", "finch" })
            await bench.FetchAsync(first, await bench.PersonAsync($"{name}@post.example"));
        Assert.Equal(3, Assert.IsType<WithdrawReleaseOutcome.Withdrawn>(await bench.WithdrawSilentlyAsync(first)).Told);
        // One was written to in a transaction before the kill.
        var told = await bench.PersonAsync("finch@post.example");
        await bench.WithAsync(db =>
        {
            db.WithdrawalNotices.Add(new WithdrawalNotice { ReleaseId = first, PersonId = told, ToldAt = bench.Bench.Shelf.Clock.GetUtcNow() });
            return db.SaveChangesAsync();
        });
        await bench.TellAsync(first);
        await bench.TellAsync(first);
        Assert.Equal(["robin@post.example", "wren@post.example"], (await bench.MailsAsync("withdrawn:")).Select(m => m.To).Order());
    }

    private static Task<string?> OfferedAsync(OutBench bench, long person) => bench.WithAsync(
        db => db.WithdrawalNotices.Where(n => n.PersonId == person).Join(db.Releases, n => n.OfferedReleaseId, r => r.Id, (n, r) => r.Number).SingleOrDefaultAsync());
}
