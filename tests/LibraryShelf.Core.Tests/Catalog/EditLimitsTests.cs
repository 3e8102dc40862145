using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Tests.Checking;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Catalog;

public sealed class EditLimitsTests
{
    private static readonly Dictionary<string, string?> Strict = new(StringComparer.Ordinal) { ["longestLeadInMs"] = "5", ["highestNoiseFloorDbfs"] = "−72,5" };

    /// <summary>A blow after 30 ms of nothing (44,100 Hz): beyond the default of 20 ms, within 40.</summary>
    private static byte[] Late => CheckBench.Wav([.. new short[1323], .. Enumerable.Range(0, 4000).Select(i => (short)(8000 * Math.Sin(i / 7.0) * Math.Exp(-i / 400.0)))]);

    [Fact]
    public async Task Limits_are_kept_as_typed_and_empty_ones_are_the_defaults()
    {
        await using var bench = await CheckBench.MakeAsync();
        Assert.Equal(new EditLimitsOutcome.Saved(null), await EditAsync(bench, Strict));
        Assert.True(LimitsText.TryRead(await LimitsAsync(bench), out var limits, out _));
        Assert.Equal((5, -72.5, LibraryLimits.Default.LayerStepDb), (limits.LongestLeadInMs, limits.HighestNoiseFloorDbfs, limits.LayerStepDb));
        await EditAsync(bench, []);
        Assert.Equal("", await LimitsAsync(bench));
    }

    [Fact]
    public async Task What_is_no_number_or_out_of_bounds_is_refused_by_name_and_nothing_is_kept()
    {
        await using var bench = await CheckBench.MakeAsync();
        var refused = Assert.IsType<EditLimitsOutcome.Refused>(await EditAsync(bench, new(StringComparer.Ordinal)
        {
            ["longestLeadInMs"] = "soon", ["middleCOctave"] = "5", ["layerStepDb"] = "1",
        }));
        Assert.Equal(["middleCOctave", "longestLeadInMs"], refused.Refusals.Select(r => r.Field));
        Assert.Equal("", await LimitsAsync(bench));
        await using var db = bench.Open();
        Assert.IsType<EditLimitsOutcome.Missing>(await new EditLimits(db, bench.Shelf.Clock).RunAsync("no-such", Strict, null, default));
    }

    [Fact]
    public async Task A_checked_release_is_judged_anew_by_the_new_limits_and_not_measured_again()
    {
        await using var bench = await CheckBench.MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Late));
        await bench.CheckAsync(id);
        Assert.Contains(await bench.SheetAsync(id), e => e.Code == FindingCodes.LeadInLong);
        bench.Store.Opened.Clear();

        Assert.Equal(new EditLimitsOutcome.Saved(id), await EditAsync(bench, new(StringComparer.Ordinal) { ["longestLeadInMs"] = "40" }));
        var release = await bench.ReleaseAsync(id);
        Assert.Equal((ReleaseState.Draft, true), (release.State, release.CheckAskedAt is not null));
        Assert.IsType<CheckReleaseOutcome.Checked>(await bench.RunAsync(id));
        Assert.DoesNotContain(await bench.SheetAsync(id), e => e.Code == FindingCodes.LeadInLong);
        Assert.Empty(bench.Store.Opened);
    }

    [Fact]
    public async Task A_sealed_release_and_an_unchecked_draft_stay_as_they_are()
    {
        await using var bench = await CheckBench.MakeAsync();
        var sealedId = await bench.DraftAsync("1.0.0", ("A3.wav", Late));
        await bench.CheckAsync(sealedId);
        await using (var db = bench.Open())
        {
            (await db.Releases.SingleAsync()).MoveTo(ReleaseState.Sealed, bench.Shelf.Clock.GetUtcNow());
            await db.SaveChangesAsync();
        }
        var draft = await bench.DraftAsync("1.1.0", ("A3.wav", Late));
        Assert.Equal(new EditLimitsOutcome.Saved(null), await EditAsync(bench, Strict));
        Assert.Equal(ReleaseState.Sealed, (await bench.ReleaseAsync(sealedId)).State);
        Assert.Null((await bench.ReleaseAsync(draft)).CheckAskedAt);
        await using var reading = bench.Open();
        Assert.Equal(LibraryLimits.Default, (await new ReadSheet(reading).RunAsync(sealedId, default))!.Limits);
    }

    [Fact]
    public async Task Of_two_forms_the_later_is_told()
    {
        await using var bench = await CheckBench.MakeAsync();
        await EditAsync(bench, Strict);
        Assert.IsType<EditLimitsOutcome.ChangedMeanwhile>(await EditAsync(bench, [], filledFrom: ""));
        Assert.NotEqual("", await LimitsAsync(bench));
    }

    private static async Task<EditLimitsOutcome> EditAsync(CheckBench bench, Dictionary<string, string?> typed, string? filledFrom = null)
    {
        await using var db = bench.Open();
        return await new EditLimits(db, bench.Shelf.Clock).RunAsync("salt-jar", typed, filledFrom, default);
    }

    private static async Task<string> LimitsAsync(CheckBench bench)
    {
        await using var db = bench.Open();
        return await db.Libraries.Select(l => l.Limits).SingleAsync();
    }
}
