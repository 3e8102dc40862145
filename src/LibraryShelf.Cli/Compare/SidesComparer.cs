using System.Collections.Concurrent;
using LibraryShelf.Audio;
using LibraryShelf.Cli.Check;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Cli.Compare;

/// <summary>Measures both sides on every core, no recording twice, and compares them.</summary>
internal sealed class SidesComparer(ShelfConsole console, NoteNaming naming)
{
    private readonly ConcurrentDictionary<string, RecordingFacts> facts = new(StringComparer.Ordinal);

    /// <summary>Both sides say which players they open in, as sealed versions do: that was compared too.</summary>
    public bool KnowsPlayers { get; private set; }

    /// <summary>CouldNotRunException when a side is not there, can't be read, or has names that no archive can carry.</summary>
    public async Task<CompareJson> RunAsync(string oldPath, string nextPath, string? saidNumber, CancellationToken cancellationToken)
    {
        using var old = LocalSide.Open(oldPath);
        using var next = LocalSide.Open(nextPath);
        var oldNumber = saidNumber ?? (old.ReadInstall() is { } install ? InstallReading.NumberOf(install) : null) ?? "1.0.0";
        foreach (var side in (LocalSide[])[old, next])
            if (side.Texts.Count > 0)
                console.Remark($"{side.Path}: the shelf's own texts are not compared ({string.Join(", ", side.Texts)}).");
        try
        {
            var older = await ReadAsync(old, [], cancellationToken);
            var newer = await ReadAsync(next, old.Files.Select(f => f.Size).ToHashSet(), cancellationToken);
            var (before, after) = PlayersOf(old, next);
            KnowsPlayers = before.Count > 0 && after.Count > 0;
            var comparison = FolderComparison.Compare(older with { Players = before }, newer with { Players = after }, oldNumber, cancellationToken);
            return CompareJson.Of(comparison, UpdateOf(older, newer, Title(nextPath), oldNumber, comparison.Proposed.Number));
        }
        catch (InvalidDataException e)
        {
            throw new CouldNotRunException($"a file can't be read out of its archive: {e.Message} `shelf verify` says which.", e);
        }
        catch (RecipeException e)
        {
            throw new CouldNotRunException($"one of the two can't be packed as it is. {e.Message}", e);
        }
    }

    private static (IReadOnlyList<ComparedPlayer> Old, IReadOnlyList<ComparedPlayer> New) PlayersOf(LocalSide old, LocalSide next)
    {
        if (old.ReadInstall() is not { } before || next.ReadInstall() is not { } after)
            return ([], []);
        return (Of(before, after), Of(after, before));

        static IReadOnlyList<ComparedPlayer> Of(string text, string other) =>
            [.. InstallReading.PlayersOf(text, [.. InstallReading.PlayersOf(other, []).Select(p => p.Name)]).Select(p => new ComparedPlayer(p.Name, p.LowestVersion))];
    }

    /// <summary>
    /// Each file is read once, for its hash and its measures; one of a size that was seen before is hashed first, because it may be known already.
    /// </summary>
    private async Task<ComparedFolder> ReadAsync(LocalSide side, HashSet<long> seenSizes, CancellationToken cancellationToken)
    {
        using var progress = console.StartProgress("Listening", side.Files.Sum(f => f.Size));
        var hashes = new ConcurrentDictionary<string, string>(StringComparer.Ordinal);
        var cores = new ParallelOptions { MaxDegreeOfParallelism = Environment.ProcessorCount, CancellationToken = cancellationToken };
        await Parallel.ForEachAsync(side.Files.OrderByDescending(f => f.Size), cores, (file, token) =>
        {
            var isRecording = FileKinds.Of(file.Path) == FileKind.Recording;
            var isHashedFirst = !isRecording || seenSizes.Contains(file.Size);
            var hash = isHashedFirst ? HashOf(file, progress, token) : Measure(file, progress.Add, token);
            if (isRecording && !facts.ContainsKey(hash))
                hash = Measure(file, _ => { }, token);
            hashes[file.Path] = hash;
            return ValueTask.CompletedTask;
        });
        var byPath = side.Files.ToDictionary(f => f.Path, StringComparer.Ordinal);
        var byHash = side.Files.GroupBy(f => hashes[f.Path], StringComparer.Ordinal).ToDictionary(g => g.Key, g => g.First(), StringComparer.Ordinal);
        return new ComparedFolder(
            [.. side.Files.Select(f => new ComparedFile(f.Path, f.Size, hashes[f.Path]))], facts,
            path => byPath.TryGetValue(path, out var file) ? ReadText(file) : null, hash => byHash[hash].Open()) { Naming = naming };
    }

    private static string HashOf(SideFile file, Progress progress, CancellationToken cancellationToken)
    {
        using var reading = new HashedReading(file.Open(), progress.Add);
        return reading.Finish(cancellationToken);
    }

    private string Measure(SideFile file, Action<long> read, CancellationToken cancellationToken)
    {
        using var reading = new HashedReading(file.Open(), read);
        var measured = RecordingReader.Read(reading, cancellationToken: cancellationToken);
        var hash = reading.Finish(cancellationToken);
        facts[hash] = measured;
        return hash;
    }

    private static string? ReadText(SideFile file)
    {
        using var stream = file.Open();
        return MappingText.Read(stream);
    }

    /// <summary>Notes, licence and credits are not known here: the sizes may be some hundred bytes off.</summary>
    private static CompareJson.UpdatePart UpdateOf(ComparedFolder old, ComparedFolder next, string title, string oldNumber, string nextNumber)
    {
        var (before, after) = (RecipeOf(old, title, oldNumber), RecipeOf(next, title, nextNumber));
        var full = new ArchiveLayout(after).Length;
        // Where no update archive is possible, the whole library is what there is to fetch.
        return new CompareJson.UpdatePart(
            UpdateArchive.Obstacle(before, after, oldNumber, nextNumber) is null
                ? new ArchiveLayout(UpdateArchive.Build(before, after, oldNumber, nextNumber)).Length : full,
            full);
    }

    /// <summary>For its size alone, on which a CRC-32 has no bearing.</summary>
    private static Recipe RecipeOf(ComparedFolder folder, string title, string number) => FullArchive.Build(new FullArchiveInput
    {
        Title = title,
        Number = number,
        Files = [.. folder.Files.Select(f => RecipeEntry.FromBlob(f.Path, f.Size, 0, f.Sha256))],
        Changes = [new ReleaseChange(number, null, "")],
    });

    private static string Title(string path) => Path.GetFileNameWithoutExtension(Path.TrimEndingDirectorySeparator(Path.GetFullPath(path)));
}
