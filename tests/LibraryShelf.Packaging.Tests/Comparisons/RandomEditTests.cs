using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Packaging.Tests.Comparisons;

/// <summary>Libraries edited at random: comparing finds exactly the edits that were made, whatever names they were made under.</summary>
public sealed class RandomEditTests
{
    private sealed record Expected(ChangeKind Kind, string? Path, string? From);

    public static TheoryData<int> Seeds() => [.. Enumerable.Range(1, 25)];

    [Theory, MemberData(nameof(Seeds))]
    public void The_edits_are_found_and_nothing_else(int seed)
    {
        var random = new Random(seed);
        var old = MadeLibrary.Create(seed);
        var next = old.Copy();
        var untouched = old.Files.Keys.Where(p => p.EndsWith(".wav", StringComparison.Ordinal)).Order(StringComparer.Ordinal).ToList();
        var expected = new HashSet<Expected>();
        for (var edits = random.Next(1, 9); edits > 0; edits--)
        {
            var path = untouched[random.Next(untouched.Count)];
            untouched.Remove(path);
            expected.Add(Edit(next, path, random));
        }
        var comparison = FolderComparison.Compare(old.ToFolder(), next.ToFolder(), "1.0.0", CancellationToken.None);
        var found = comparison.Changes.Where(c => c.Path?.EndsWith(".sfz", StringComparison.Ordinal) != true)
            .Select(c => new Expected(c.Kind, c.Path, c.From)).ToHashSet();
        Assert.Equal(expected.OrderBy(e => e.Path), found.OrderBy(e => e.Path));
        Assert.Equal(
            expected.Any(e => e.Kind == ChangeKind.Removed) ? Bump.Major
            : expected.Any(e => e.Kind == ChangeKind.Added || e.From is not null) ? Bump.Minor : Bump.Patch,
            comparison.Proposed.Bump);
    }

    /// <summary>A mapping that is the same to the byte is not always looked at; one with another comment in it is.</summary>
    [Theory, MemberData(nameof(Seeds))]
    public void Recordings_mended_where_they_are_come_out_alike_whether_or_not_the_mapping_is_read(int seed)
    {
        var random = new Random(seed);
        var old = MadeLibrary.Create(seed);
        if (seed % 2 == 0)
            old.Settings += " pitch_keycenter=sample";
        var next = old.Copy();
        foreach (var path in old.Files.Keys.Where(p => p.EndsWith(".wav", StringComparison.Ordinal)).Order(StringComparer.Ordinal).Where(_ => random.Next(4) == 0))
            next.Files[path] = random.Next(2) == 0
                ? MadeLibrary.Wav([.. next.Samples(path).Select(x => x * 0.7)]) : MadeLibrary.Wav(MadeLibrary.Struck(random.Next(), 440));
        var asItIs = FolderComparison.Compare(old.ToFolder(), next.ToFolder(), "1.0.0", CancellationToken.None);
        next.Comment = "// Written otherwise.";
        var read = FolderComparison.Compare(old.ToFolder(), next.ToFolder(), "1.0.0", CancellationToken.None);
        Assert.Equal(read.Changes.Where(c => c.Path != next.MappingPath).Select(Said), asItIs.Changes.Select(Said));
        Assert.Equal(read.Proposed.Bump, asItIs.Proposed.Bump);

        static (ChangeKind, string?, string?, string?, string) Said(Change c) => (c.Kind, c.Path, c.From, c.Words, string.Join(' ', c.Keys));
    }

    private static Expected Edit(MadeLibrary next, string path, Random random)
    {
        var elsewhere = $"Other/take {random.Next(1_000_000)}.wav";
        var key = next.Regions.First(r => r.Path == path).Key;
        var gain = random.Next(2) == 0 ? 0.7 : 1.2;
        switch (random.Next(8))
        {
            case 0:
                next.Add(elsewhere, key, 0, 3, random.Next());
                return new(ChangeKind.Added, elsewhere, null);
            case 1:
                next.Remove(path);
                return new(ChangeKind.Removed, path, null);
            case 2:
                next.Move(path, elsewhere);
                return new(ChangeKind.Moved, elsewhere, path);
            case 3:
                next.Files[path] = MadeLibrary.Wav([.. next.Samples(path).Select(x => x * gain)]);
                return new(ChangeKind.Level, path, null);
            case 4:
                next.Files[path] = MadeLibrary.Wav(next.Samples(path)[random.Next(1, 900)..^random.Next(1, 900)]);
                return new(ChangeKind.Trimmed, path, null);
            case 5:
                next.Files[path] = MadeLibrary.Wav(next.Samples(path), tag: $"INFOsaid {random.Next()}");
                return new(ChangeKind.Retagged, path, null);
            case 6:
                next.Files[path] = MadeLibrary.Wav(MadeLibrary.Struck(random.Next(), 440 * Math.Pow(2, (key - 69) / 12.0)));
                return new(ChangeKind.ReRecorded, path, null);
            default:
                // Louder and under another name: the sound is followed, not the name.
                next.Files[path] = MadeLibrary.Wav([.. next.Samples(path).Select(x => x * gain)]);
                next.Move(path, elsewhere);
                return new(ChangeKind.Level, elsewhere, path);
        }
    }
}
