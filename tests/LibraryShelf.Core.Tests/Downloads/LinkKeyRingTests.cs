using LibraryShelf.Core.Downloads;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Downloads;

public sealed class LinkKeyRingTests
{
    private static Task<int> RotateAsync(StockedShelf shelf) =>
        shelf.WithAsync(db => new RotateLinkKey(db, shelf.Temp.Clock).RunAsync(default));

    private static Task<int> SweepAsync(StockedShelf shelf) => shelf.WithAsync(async db =>
    {
        await new SweepLinkKeys(db, new RotateLinkKey(db, shelf.Temp.Clock), shelf.Temp.Clock, Options.Create(shelf.Settings)).RunAsync(default);
        return await db.LinkKeys.CountAsync();
    });

    private static Task<List<int>> SigningAsync(StockedShelf shelf) =>
        shelf.WithAsync(db => db.LinkKeys.Where(k => k.RetiredAt == null).Select(k => k.Id).ToListAsync());

    private static string KeyOf(MakeLinkOutcome.Made link) => link.Path.Split('&').Single(f => f.StartsWith("key=", StringComparison.Ordinal));

    [Fact]
    public async Task A_started_download_and_a_link_not_yet_used_go_on_over_many_rotations()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var (started, waiting) = (await shelf.MadeAsync(), await shelf.MadeAsync());
        Assert.Null(await shelf.StartAsync(started.DownloadId));
        var last = 0;
        for (var i = 0; i < 50; i++)
        {
            last = await RotateAsync(shelf);
            await SweepAsync(shelf);
            shelf.Temp.Clock.Advance(TimeSpan.FromSeconds(1));
            var made = await shelf.MadeAsync();
            Assert.Equal($"key={last}", KeyOf(made));
            foreach (var link in new[] { started, waiting, made }) Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(link.Path));
        }
        Assert.Equal(51, last);
        shelf.Temp.Clock.SetUtcNow(started.FinishBy - TimeSpan.FromSeconds(1));
        Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(started.Path));
        Assert.Equal([last], await SigningAsync(shelf));
    }

    [Fact]
    public async Task Rotations_at_once_leave_one_key_that_signs_and_every_link_opens()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var made = new List<MakeLinkOutcome.Made> { await shelf.MadeAsync() };
        var links = await Task.WhenAll(Enumerable.Range(0, 8).Select(_ => Task.Run(async () =>
        {
            await RotateAsync(shelf);
            return await shelf.MadeAsync();
        })));
        made.AddRange(links);
        await SweepAsync(shelf);
        Assert.Equal([9], await SigningAsync(shelf));
        foreach (var link in made) Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(link.Path));
    }

    [Fact]
    public async Task A_rotation_cut_short_between_its_steps_is_made_good_by_the_sweep()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        var old = await shelf.MadeAsync();
        await shelf.WithAsync(db => { db.LinkKeys.Add(LinkKey.Make(shelf.Now)); return db.SaveChangesAsync(); });
        Assert.Equal([1, 2], await SigningAsync(shelf));
        Assert.Equal("key=2", KeyOf(await shelf.MadeAsync()));
        await SweepAsync(shelf);
        Assert.Equal([2], await SigningAsync(shelf));
        Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(old.Path));
    }

    [Fact]
    public async Task The_sweep_rotates_by_age_and_not_a_moment_before()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        Assert.Equal(0, await SweepAsync(shelf)); // an empty ring stays empty
        shelf.Settings.Links.RotateDays = 30;
        await shelf.MadeAsync();
        shelf.Temp.Clock.Advance(TimeSpan.FromDays(30) - TimeSpan.FromMilliseconds(1));
        Assert.Equal(1, await SweepAsync(shelf));
        shelf.Temp.Clock.Advance(TimeSpan.FromMilliseconds(1));
        Assert.Equal(2, await SweepAsync(shelf));
        Assert.Equal(2, await SweepAsync(shelf));
        Assert.Equal([2], await SigningAsync(shelf));
    }

    [Fact]
    public async Task A_retired_key_is_removed_when_no_link_of_its_can_be_alive()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        (shelf.Settings.Links.StartMinutes, shelf.Settings.Links.ResumeHours) = (24 * 60, 24 * 14); // the longest the settings allow
        var last = await shelf.MadeAsync();
        Assert.Null(await shelf.StartAsync(last.DownloadId));
        await RotateAsync(shelf);
        shelf.Temp.Clock.SetUtcNow(last.FinishBy - TimeSpan.FromMilliseconds(1));
        Assert.Equal(2, await SweepAsync(shelf));
        Assert.IsType<OpenLinkOutcome.Open>(await shelf.OpenAsync(last.Path));
        shelf.Temp.Clock.SetUtcNow(last.FinishBy - LinkKeyRing.LongestLife + LinkKeyRing.RetiredLife);
        Assert.Equal(1, await SweepAsync(shelf));
        Assert.Equal(LinkTrouble.ResumeRunOut, await shelf.TroubleAsync(last.Path)); // true, although nothing can verify it any more
        Assert.Equal("key=2", KeyOf(await shelf.MadeAsync()));
    }

    [Fact]
    public async Task Keys_are_random_and_as_long_as_the_hash()
    {
        await using var shelf = await StockedShelf.MakeAsync();
        await RotateAsync(shelf);
        await RotateAsync(shelf);
        var secrets = await shelf.WithAsync(db => db.LinkKeys.Select(k => k.Secret).ToListAsync());
        Assert.All(secrets, s => Assert.Equal(32, s.Length));
        Assert.Equal(2, secrets.Select(Convert.ToHexString).Distinct(StringComparer.Ordinal).Count());
    }
}
