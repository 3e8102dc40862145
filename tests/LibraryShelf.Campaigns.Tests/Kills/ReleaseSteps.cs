using LibraryShelf.Campaigns.Tests.Making;
using LibraryShelf.Campaigns.Tests.Running;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Campaigns.Tests.Kills;

/// <summary>The check, asked for by its button.</summary>
internal sealed class Checked(TrialShelf shelf) : KilledStep(shelf, "Checked Box")
{
    private static readonly int[] Sizes = [.. Enumerable.Repeat(250_000, 14)];
    private long release;
    private bool wish;

    public override async Task MakeReadyAsync(int point)
    {
        release = await Maker.StartReleaseAsync(Slug);
        await Maker.FillAsync(release, MakeFolder($"check-{point}", (ulong)point + 10_001, Sizes), asChecked: false);
    }

    public override Task BeginAsync() => Maker.PressAsync($"/workbench/releases/{release}", "Check");

    public override Task<bool> IsOverAsync() => Maker.IsAsync(release, r => r.State == ReleaseState.Checked);

    public override async Task LookAsync(ShelfDb db)
    {
        var now = await db.Releases.SingleAsync(r => r.Id == release);
        var isChecked = now.State == ReleaseState.Checked;
        wish = isChecked || now.CheckAskedAt is not null;
        // The counts on the row and the move are one.
        Assert.Equal(isChecked ? Sizes.Length : 0, now.Recordings);
        Assert.True(isChecked || !await db.SheetEntries.AnyAsync(e => e.ReleaseId == release), "a sheet without a check");
    }

    public override async Task GoOnAsync()
    {
        if (!wish)
            await BeginAsync();
        await Waiting.UntilAsync("it is checked", IsOverAsync);
        Assert.Equal(Sizes.Length, await AskAsync(db => db.Releases.Where(r => r.Id == release).Select(r => r.Recordings).SingleAsync()));
        await Maker.PressAsync($"/workbench/releases/{release}", "Discard");
    }
}

/// <summary>One of the seal page's buttons on a checked release: all three end in a sealed one whose digest is right.</summary>
internal abstract class SealPageStep(TrialShelf shelf, string title, string button, ReleaseState end, params int[] sizes) : KilledStep(shelf, title)
{
    private MadeFolder folder = null!;

    protected long Release { get; private set; }

    protected bool Wish { get; private set; }

    public override async Task SetUpAsync()
    {
        await base.SetUpAsync();
        folder = MakeFolder(Slug, (ulong)Slug.Length + 20_000, sizes);
    }

    public override async Task MakeReadyAsync(int point)
    {
        Release = await Maker.StartReleaseAsync(Slug);
        await Maker.FillAsync(Release, folder, asChecked: true);
    }

    public override Task BeginAsync() => Maker.PressAsync($"/workbench/releases/{Release}/seal", button, ("audience", "Free"), ("declares", "true"));

    public override Task<bool> IsOverAsync() => Maker.IsAsync(Release, r => r.State == end);

    public override async Task LookAsync(ShelfDb db)
    {
        var now = await db.Releases.SingleAsync(r => r.Id == Release);
        Wish = now.SealAskedAt is not null || now.State is not ReleaseState.Checked;
        Assert.True(now.SealAskedAt is null || now.State == ReleaseState.Checked, "its seal is asked for and done");
    }

    public override async Task GoOnAsync()
    {
        if (!Wish)
            await BeginAsync();
        await Waiting.UntilAsync($"it is {end}", () => Maker.IsAsync(Release, r => r.State == end));
        await Maker.DigestedAsync(Release);
        Assert.Equal(1, await AskAsync(db => db.Archives.CountAsync(a => a.ReleaseId == Release)));
        await HoldDigestAsync();
    }

    private async Task HoldDigestAsync()
    {
        var digest = await AskAsync(db => db.Archives.Where(a => a.ReleaseId == Release).Select(a => a.Sha256).SingleAsync());
        Assert.Equal(await Sums.OfArchiveAsync(Shelf, Release), digest);
    }
}

internal sealed class Sealed(TrialShelf shelf) : SealPageStep(shelf, "Sealed Box", "Seal", ReleaseState.Sealed, 100_000, 100_000, 100_000);

internal sealed class SealedAndPublished(TrialShelf shelf) : SealPageStep(shelf, "Sealed And Published Box", "SealAndPublish", ReleaseState.Published, 120_000, 120_000);

internal sealed class Published(TrialShelf shelf) : SealPageStep(shelf, "Published Box", "Publish", ReleaseState.Published, 110_000, 110_000)
{
    private bool published;

    public override async Task MakeReadyAsync(int point)
    {
        await base.MakeReadyAsync(point);
        await Maker.PressAsync($"/workbench/releases/{Release}/seal", "Seal");
        await Maker.DigestedAsync(Release);
    }

    public override async Task LookAsync(ShelfDb db)
    {
        await base.LookAsync(db);
        published = await db.Releases.AnyAsync(r => r.Id == Release && r.State == ReleaseState.Published);
        Assert.True(!published || await db.AudienceDecisions.AnyAsync(), "published for nobody");
    }

    /// <summary>The button publishes within its own request: after a kill before that the release is sealed as it was.</summary>
    public override async Task GoOnAsync()
    {
        if (!published)
            await BeginAsync();
        await base.GoOnAsync();
    }
}

/// <summary>The reading through of a large archive, woken by its sealing.</summary>
internal sealed class Digested(TrialShelf shelf) : SealPageStep(shelf, "Digested Box", "Seal", ReleaseState.Sealed, [.. Enumerable.Repeat(6_000_000, 4)])
{
    public override async Task OpenAsync()
    {
        await base.BeginAsync();
        await Waiting.UntilAsync("it is sealed", base.IsOverAsync);
    }

    public override Task BeginAsync() => Task.CompletedTask;

    public override Task<bool> IsOverAsync() => AskAsync(db => db.Archives.AnyAsync(a => a.ReleaseId == Release && a.Sha256 != null));
}
