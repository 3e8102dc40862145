using System.Collections.Concurrent;
using LibraryShelf.Audio;
using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;

namespace LibraryShelf.Cli.Check;

/// <summary>What a folder on this machine came to; recordings in ordinal order of paths.</summary>
internal sealed record Verdict(IReadOnlyList<MeasuredRecording> Recordings, CheckSheet Sheet)
{
    public int MustFix => Sheet.Findings.Count(f => f.Severity == Severity.MustFix);
    public int ListenAgain => Sheet.Findings.Count(f => f.Severity == Severity.ListenAgain);

    /// <summary>Recordings of which nothing is to be said.</summary>
    public int Fine => Recordings.Select(r => r.Path).Except(Sheet.Findings.Select(f => f.Path), StringComparer.Ordinal).Count();
}

/// <summary>Measures a folder's recordings on every core and judges the folder.</summary>
internal sealed class FolderChecker(ShelfConsole console)
{
    public async Task<Verdict> RunAsync(string path, bool isPitched, LibraryLimits limits, CancellationToken cancellationToken)
    {
        var folder = LocalFolder.Read(path);
        var recordings = await MeasureAsync([.. folder.Files.Where(f => FileKinds.Of(f.Path) == FileKind.Recording)], cancellationToken);
        var places = folder.Files.ToDictionary(f => f.Path, f => f.FullPath, StringComparer.Ordinal);
        var sheet = FolderCheck.Judge(new FolderToJudge(
            [.. folder.Files.Select(f => new FolderFile(f.Path, f.Size))],
            recordings.ToDictionary(r => r.Path, r => r.Facts, StringComparer.Ordinal),
            text => places.TryGetValue(text, out var place) ? ReadText(place) : null,
            isPitched)
        {
            Limits = limits,
            Hashes = recordings.ToDictionary(r => r.Path, r => r.Sha256, StringComparer.Ordinal),
        });
        return new Verdict(recordings, sheet);
    }

    /// <summary>Each file is read once, for its hash and its measures; the longest first, so that no core is left with one at the end.</summary>
    private async Task<IReadOnlyList<MeasuredRecording>> MeasureAsync(IReadOnlyList<LocalFile> files, CancellationToken cancellationToken)
    {
        using var progress = console.StartProgress("Listening", files.Sum(f => f.Size));
        var measured = new ConcurrentBag<MeasuredRecording>();
        var cores = new ParallelOptions { MaxDegreeOfParallelism = Environment.ProcessorCount, CancellationToken = cancellationToken };
        await Parallel.ForEachAsync(files.OrderByDescending(f => f.Size), cores, (file, token) =>
        {
            using var reading = new HashedReading(file.FullPath, progress.Add);
            var facts = RecordingReader.Read(reading, cancellationToken: token);
            measured.Add(new MeasuredRecording(file.Path, reading.Finish(token), facts));
            return ValueTask.CompletedTask;
        });
        return [.. measured.OrderBy(r => r.Path, StringComparer.Ordinal)];
    }

    private static string? ReadText(string place)
    {
        using var stream = File.OpenRead(place);
        return MappingText.Read(stream);
    }
}
