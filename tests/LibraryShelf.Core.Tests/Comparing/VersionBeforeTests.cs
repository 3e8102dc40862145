using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Tests.Sealing;
using static LibraryShelf.Core.Tests.Comparing.CompareBench;

namespace LibraryShelf.Core.Tests.Comparing;

/// <summary>The examples of docs/versions.md, "From which version".</summary>
public sealed class VersionBeforeTests
{
    // "s": sealed, never on the shelf; "e": early, then withdrawn; "p": published; "w": published, then withdrawn.
    [Theory]
    [InlineData("1.0.0p 1.1.0p", "1.2.0", "1.1.0")]
    [InlineData("1.0.0p 1.1.0s", "1.2.0", "1.0.0")]
    [InlineData("1.0.0p 1.1.0e", "1.2.0", "1.0.0")]
    [InlineData("1.0.0p 1.1.0w", "1.2.0", "1.1.0")]
    [InlineData("1.0.0p 2.0.0-rc.1p 2.0.0-rc.2s", "2.0.0", "1.0.0")]
    [InlineData("1.0.0p 1.1.0-rc.1p", "1.1.0-rc.2", "1.0.0")]
    [InlineData("1.0.0p 2.0.0p", "1.0.1", "1.0.0")]
    [InlineData("0.9.0s 1.0.0-rc.1p", "1.0.0", "1.0.0-rc.1")]
    [InlineData("1.0.0s 1.1.0-rc.1s", "1.1.0", "1.0.0")]
    [InlineData("1.0.0-rc.1s", "1.0.0", "1.0.0-rc.1")]
    [InlineData("1.0.0p", "0.9.0", null)]
    public async Task A_version_is_held_against_what_songs_may_rest_on(string before, string number, string? from)
    {
        await using var bench = await SealBench.MakeAsync();
        foreach (var version in before.Split(' '))
        {
            var id = await SealedAsync(bench, version[..^1]);
            await bench.ChangeAsync(id, r =>
            {
                foreach (var state in MovesOf(version[^1]))
                    Assert.True(r.MoveTo(state, bench.Shelf.Clock.GetUtcNow()));
            });
        }
        var next = await bench.CheckedAsync(number, Old);
        Assert.Equal(from, (await ReadAsync(bench, next))!.From?.Number);
    }

    [Fact]
    public async Task What_a_pre_release_took_away_counts_when_its_number_comes()
    {
        await using var bench = await SealBench.MakeAsync();
        var first = await SealedAsync(bench, "1.0.0");
        await PublishAsync(bench, first);
        var early = await bench.CheckedAsync("1.1.0-rc.1", ("a.wav", "no sound"));
        await CompareAsync(bench, early, first);
        // A pre-release too keeps to the number: 2.0.0-rc.1 would do.
        Assert.StartsWith("1.1.0-rc.1 is smaller than 2.0.0", Assert.Single(Assert.IsType<AskForSealOutcome.NotReady>(await bench.AskAsync(early)).Reasons), StringComparison.Ordinal);
        Assert.IsType<EditOutcome.Saved>(await RenumberAsync(bench, early, "1.1.0-rc.1", "Only to listen."));
        await bench.SealedAsync(early);
        await PublishAsync(bench, early);

        var next = await bench.CheckedAsync("1.1.0", ("a.wav", "no sound"));
        Assert.Contains((next, first), await UncomparedAsync(bench));
        await CompareAsync(bench, next, first);
        Assert.StartsWith("1.1.0 is smaller than 2.0.0", Assert.Single(Assert.IsType<AskForSealOutcome.NotReady>(await bench.AskAsync(next)).Reasons), StringComparison.Ordinal);
        Assert.IsType<EditOutcome.Saved>(await RenumberAsync(bench, next, "2.0.0-rc.1", null));
        Assert.Equal("", (await bench.ReleaseAsync(next)).WhySmallerNumber);
        Assert.IsType<AskForSealOutcome.Asked>(await bench.AskAsync(next));
    }

    private static ReleaseState[] MovesOf(char fate) => fate switch
    {
        'e' => [ReleaseState.Early, ReleaseState.Withdrawn],
        'p' => [ReleaseState.Published],
        'w' => [ReleaseState.Published, ReleaseState.Withdrawn],
        _ => [],
    };
}
