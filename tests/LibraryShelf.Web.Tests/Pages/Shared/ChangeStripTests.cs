using LibraryShelf.Core.Comparing;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Web.Pages.Shared;

namespace LibraryShelf.Web.Tests.Pages.Shared;

public sealed class ChangeStripTests
{
    [Fact]
    public void Each_kind_is_told_in_a_sentence_with_its_keys() => Assert.Equal(
        "Added on C4 to D4, E4. Removed on G4. Opens in other players on C5.",
        Of(new(ChangeKind.Added, 4, [60, 61, 62, 64]), new(ChangeKind.Removed, 1, [67]), new(ChangeKind.Moved, 3, []), new(ChangeKind.Requirement, 1, [72])).Description);

    [Fact]
    public void Every_kind_has_its_own_sentence()
    {
        var said = Enum.GetValues<ChangeKind>().Select(kind => Of(new ChangeSummary.Part(kind, 1, [60])).Description).ToList();
        Assert.All(said, words => Assert.EndsWith(" on C4.", words, StringComparison.Ordinal));
        Assert.Equal(said.Count, said.Distinct(StringComparer.Ordinal).Count());
    }

    [Fact]
    public void Without_a_key_it_says_so() => Assert.Equal("No key is touched.", Of(new ChangeSummary.Part(ChangeKind.Requirement, 1, [])).Description);

    /// <summary>What is not there is said of four kinds; the rest is said where it is.</summary>
    [Fact]
    public void Counts_are_phrases() => Assert.Equal(
        ["104 added", "none re-recorded", "1 renamed", "none removed", "2 with other tags", "1 change of the mapping"],
        Of(new(ChangeKind.Added, 104, [60]), new(ChangeKind.Moved, 1, [61]), new(ChangeKind.Retagged, 2, []), new(ChangeKind.Remapped, 1, [])).Counts.Select(c => c.Words));

    private static ChangeStrip Of(params ChangeSummary.Part[] parts) => new(new ChangeSummary(parts, default, "1.1.0", 0, 0), 60, 72);
}
