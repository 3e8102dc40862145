using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Storage;
using LibraryShelf.Core.Tests.Intake;
using LibraryShelf.Core.Tests.Sealing;
using LibraryShelf.Packaging.Comparisons;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Comparing.CompareBench;

namespace LibraryShelf.Core.Tests.Comparing;

public sealed class CompareReleasesTests
{
    [Fact]
    public async Task A_checked_version_is_compared_with_the_one_below_it()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        Assert.Equal([(next, first)], await UncomparedAsync(bench));
        Assert.Equal(new CompareReleasesOutcome.Compared(first), await CompareAsync(bench, next, first));
        var reading = (await ReadAsync(bench, next))!;
        Assert.Equal((first, "1.0.0", "1.1.0", Bump.Minor), (reading.From!.Id, reading.From.Number, reading.Outcome!.Proposed.Number, reading.Outcome.Proposed.Bump));
        Assert.Equal(("b.wav", ChangeKind.Added), (Assert.Single(reading.Outcome.Changes).Path, Assert.Single(reading.Outcome.Changes).Kind));
        Assert.Equal(1, reading.Summary!.Count(ChangeKind.Added));
        Assert.StartsWith("### Added", reading.Drafted, StringComparison.Ordinal);
        Assert.InRange(reading.Outcome.Update.Bytes, 100, reading.Outcome.Update.FullBytes - 1);
        Assert.Empty(await UncomparedAsync(bench));
        Assert.IsType<CompareReleasesOutcome.NothingToDo>(await CompareAsync(bench, next, first));
    }

    [Fact]
    public async Task A_folder_sent_anew_is_compared_anew_and_the_old_outcome_is_not_shown()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        await CompareAsync(bench, next, first);
        bench.Shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        await bench.ChangeAsync(next, r => r.MoveTo(ReleaseState.Draft, bench.Shelf.Clock.GetUtcNow()));
        Assert.Null((await ReadAsync(bench, next))!.Outcome);
        Assert.Empty(await UncomparedAsync(bench));
        Assert.IsType<CompareReleasesOutcome.NothingToDo>(await CompareAsync(bench, next, first));
        await ResendAsync(bench, next, [.. More, ("c.wav", "nor here")]);
        Assert.Null((await ReadAsync(bench, next))!.Outcome);
        Assert.Equal([(next, first)], await UncomparedAsync(bench));
    }

    [Fact]
    public async Task The_version_before_is_the_sealed_one_with_the_next_lower_number()
    {
        await using var bench = await SealBench.MakeAsync();
        var old = await SealedAsync(bench, "1.0.0");
        var far = await SealedAsync(bench, "2.0.0-rc.1");
        var mend = await bench.CheckedAsync("1.0.1", Old);
        // Of the three the middle one is compared with the first; the pre-release too, as long as the middle one is not sealed.
        Assert.Equal(new[] { (mend, old), (far, old) }.Order(), (await UncomparedAsync(bench)).Order());
        Assert.Null((await ReadAsync(bench, old))!.From);
        Assert.Equal(["2.0.0-rc.1", "1.0.0"], (await ReadAsync(bench, mend))!.Others.Select(o => o.Number));
    }

    [Fact]
    public async Task A_smaller_number_than_proposed_wants_a_reason_before_it_is_sealed()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, [("kettle.sfz", "<region> sample=a.wav key=61"), ("a.wav", "no sound")]);
        await CompareAsync(bench, next, first);
        Assert.Equal("2.0.0", (await ReadAsync(bench, next))!.Outcome!.Proposed.Number);
        Assert.StartsWith("1.1.0 is smaller than 2.0.0", Assert.Single(Assert.IsType<AskForSealOutcome.NotReady>(await bench.AskAsync(next)).Reasons), StringComparison.Ordinal);
        var refused = Assert.IsType<EditOutcome.Refused>(await RenumberAsync(bench, next, "1.2.0", null));
        Assert.Equal(RenumberRelease.WhyField, Assert.Single(refused.Refusals).Field);
        Assert.IsType<EditOutcome.Saved>(await RenumberAsync(bench, next, "1.2.0", " Nobody played that key. "));
        Assert.Equal("Nobody played that key.", (await bench.ReleaseAsync(next)).WhySmallerNumber);
        Assert.IsType<AskForSealOutcome.Asked>(await bench.AskAsync(next));
        Assert.IsType<SealReleaseOutcome.Sealed>(await bench.SealAsync(next));
        // What is sealed stays as it is, and can be read for ever.
        Assert.Equal("2.0.0", (await ReadAsync(bench, next))!.Outcome!.Proposed.Number);
    }

    [Fact]
    public async Task Another_player_is_part_of_what_changed_and_is_compared_anew()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        await CompareAsync(bench, next, first);
        Assert.Equal(Bump.Minor, (await ReadAsync(bench, next))!.Outcome!.Proposed.Bump);
        await using (var db = bench.Shelf.Open())
            await new EditRelease(db).RunAsync(next, new ReleaseWords("", "CC-BY-4.0", "", "", [new PlayerWords("Pondskater", "3.0")]), CancellationToken.None);
        Assert.Equal([(next, first)], await UncomparedAsync(bench));
        Assert.IsType<CompareReleasesOutcome.Compared>(await CompareAsync(bench, next, first));
        var reading = (await ReadAsync(bench, next))!;
        Assert.Equal((Bump.Major, false), (reading.Outcome!.Proposed.Bump, reading.IsAsked));
        Assert.Contains(reading.Outcome.Changes, c => c.Kind == ChangeKind.Requirement);
        Assert.Empty(await UncomparedAsync(bench));
    }

    [Fact]
    public async Task The_reason_goes_when_the_number_is_large_enough()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, [("kettle.sfz", "<region> sample=a.wav key=61"), ("a.wav", "no sound")]);
        await CompareAsync(bench, next, first);
        await RenumberAsync(bench, next, "1.2.0", "Nobody played that key.");
        await RenumberAsync(bench, next, "2.0.0", "Nobody played that key.");
        Assert.Equal("", (await bench.ReleaseAsync(next)).WhySmallerNumber);
    }

    [Fact]
    public async Task Drafted_changes_stand_before_the_notes_once_and_never_in_a_sealed_version()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        Assert.IsType<EditOutcome.Missing>(await TakeAsync(bench, next, first));
        await CompareAsync(bench, next, first);
        Assert.IsType<EditOutcome.Saved>(await TakeAsync(bench, next, first));
        Assert.IsType<EditOutcome.Saved>(await TakeAsync(bench, next, first));
        Assert.Equal("### Added\n\n- 1 take.\n\nWhat 1.1.0 changed.", (await bench.ReleaseAsync(next)).Notes);
        await bench.SealedAsync(next);
        Assert.IsType<EditOutcome.Refused>(await TakeAsync(bench, next, first));
    }

    [Fact]
    public async Task A_reason_given_against_another_number_is_asked_for_anew()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, [("kettle.sfz", "<region> sample=a.wav key=61"), ("a.wav", "no sound")]);
        await CompareAsync(bench, next, first);
        await RenumberAsync(bench, next, "1.2.0", "Nobody played that key.");
        Assert.Null((await ReadAsync(bench, next))!.NumberReason);
        // As if the reason had been given when 1.3.0 was proposed.
        await using (var db = bench.Shelf.Open())
            await db.Releases.Where(r => r.Id == next).ExecuteUpdateAsync(s => s.SetProperty(r => r.WhySmallerThan, "1.3.0"));
        Assert.StartsWith("1.2.0 is smaller than 2.0.0", (await ReadAsync(bench, next))!.NumberReason, StringComparison.Ordinal);
        Assert.StartsWith("1.2.0 is smaller than 2.0.0", Assert.Single(Assert.IsType<AskForSealOutcome.NotReady>(await bench.AskAsync(next)).Reasons), StringComparison.Ordinal);
        await RenumberAsync(bench, next, "1.2.0", "Nobody played that key.");
        Assert.IsType<AskForSealOutcome.Asked>(await bench.AskAsync(next));
    }

    [Theory]
    [InlineData("### Removed\n\n- An older draft.", "### Added\n\n- 1 take.\n\nWhat 1.1.0 changed.")]
    [InlineData("### Removed\n\n- An older draft, edited.", "### Added\n\n- 1 take.\n\n### Removed\n\n- An older draft, edited.\n\nWhat 1.1.0 changed.")]
    public async Task A_newer_draft_takes_the_place_of_the_one_taken_before_unless_that_was_edited(string inNotes, string after)
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        await CompareAsync(bench, next, first);
        await using (var db = bench.Shelf.Open())
            await db.Releases.Where(r => r.Id == next).ExecuteUpdateAsync(s => s
                .SetProperty(r => r.Notes, inNotes + "\n\nWhat 1.1.0 changed.").SetProperty(r => r.TakenDraft, "### Removed\n\n- An older draft."));
        await TakeAsync(bench, next, first);
        Assert.Equal(after, (await bench.ReleaseAsync(next)).Notes);
    }

    [Fact]
    public async Task A_file_gone_from_the_store_is_said_and_not_tried_for_ever()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        var broken = new RefusingStore(bench.Store) { RefuseOpen = true };
        await using var db = bench.Shelf.Open();
        var stopped = Assert.IsType<CompareReleasesOutcome.Stopped>(
            await new CompareReleases(db, broken, bench.Shelf.Clock).RunAsync(next, first, CancellationToken.None));
        Assert.StartsWith("Mended Kettle 1.1.0 could not be compared with 1.0.0: the shelf could not read", stopped.Reason, StringComparison.Ordinal);
        Assert.Equal(stopped.Reason, (await ReadAsync(bench, next))!.Trouble);
        Assert.Empty(await UncomparedAsync(bench));
        // Asked for again, and the store well again, it is done.
        await using var other = bench.Shelf.Open();
        Assert.Equal(AskForComparisonOutcome.Asked, await new AskForComparison(other, bench.Shelf.Clock).RunAsync(next, first, CancellationToken.None));
        Assert.Equal([(next, first)], await UncomparedAsync(bench));
        Assert.IsType<CompareReleasesOutcome.Compared>(await CompareAsync(bench, next, first));
        Assert.Null((await ReadAsync(bench, next))!.Trouble);
    }

    [Fact]
    public async Task Only_sealed_versions_of_the_same_library_are_compared_with()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = await TwoAsync(bench, More);
        await using var db = bench.Shelf.Open();
        var ask = new AskForComparison(db, bench.Shelf.Clock);
        Assert.Equal(AskForComparisonOutcome.NoSuchPair, await ask.RunAsync(first, next, CancellationToken.None));
        Assert.Equal(AskForComparisonOutcome.NoSuchPair, await ask.RunAsync(next, next, CancellationToken.None));
        Assert.Equal(AskForComparisonOutcome.NoSuchPair, await ask.RunAsync(next, 999, CancellationToken.None));
        Assert.IsType<CompareReleasesOutcome.NothingToDo>(await CompareAsync(bench, first, next));
        Assert.Null(await new ReadComparison(db).RunAsync(next, 999, CancellationToken.None));
        Assert.Null(await new ReadComparison(db).RunAsync(999, null, CancellationToken.None));
    }
}
