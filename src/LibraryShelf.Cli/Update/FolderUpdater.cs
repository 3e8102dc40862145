using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Update;

/// <summary>After which of its steps an update may be cut off; tests do that at each.</summary>
internal enum UpdateStep { Taken, Built, BetweenRenames, Exchanged, Tidied }

/// <summary>What an update came to. With discrepancies nothing was changed.</summary>
internal sealed record Updated(string Folder, bool Changed, UpdatePlan? Plan, IReadOnlyList<Discrepancy> Discrepancies);

/// <summary>
/// Makes a folder into another version: the new one is built beside it, their names are exchanged, the old one goes. A kill at any point
/// leaves the old or the new folder, and the next run removes what it left.
/// </summary>
internal sealed class FolderUpdater(ShelfConsole console)
{
    public Action<UpdateStep> Reached { get; init; } = _ => { };
    public Func<string, string, bool> Link { get; init; } = SystemCalls.TryLink;
    public bool ExchangeAtOnce { get; init; } = true;

    public async Task<Updated> RunAsync(string path, string archive, CancellationToken cancellationToken)
    {
        await using var source = await UpdateSource.OpenAsync(archive, console, cancellationToken);
        var folder = UpdateFolder.Find(path, source.TopFolder);
        if (!Directory.Exists(folder) && !UpdatePlaces.AreLeft(folder))
            throw new CouldNotRunException($"there is no folder {path}.");
        using var places = UpdatePlaces.Take(folder);
        try
        {
            return await UpdateAsync(places, source, cancellationToken);
        }
        catch (Exception e) when (e is CouldNotRunException or IOException or UnauthorizedAccessException or OperationCanceledException)
        {
            if (Directory.Exists(folder))
                places.Tidy();
            throw;
        }
    }

    private async Task<Updated> UpdateAsync(UpdatePlaces places, UpdateSource source, CancellationToken cancellationToken)
    {
        Reached(UpdateStep.Taken);
        var old = await UpdateFolder.ReadAsync(places.Folder, console, cancellationToken);
        if (old.Altered() is { Count: > 0 } altered)
        {
            places.Tidy();
            return new Updated(places.Folder, false, null, altered);
        }
        var plan = UpdatePlan.Make(old, source);
        if (plan.Removed.Count == 0 && old.Listed.SequenceEqual(source.Listed))
        {
            places.Tidy();
            return new Updated(places.Folder, false, plan, []);
        }
        using (var progress = console.StartProgress("Writing", plan.Files.Sum(f => f.From is null ? source.SizeOf(f.Path) : 0)))
            await new NewFolder(old, source, plan, places.New, Link).BuildAsync(progress.Add, cancellationToken);
        Reached(UpdateStep.Built);
        RequireUnchanged(old.Folder);
        places.Exchange(ExchangeAtOnce, () => Reached(UpdateStep.BetweenRenames));
        Reached(UpdateStep.Exchanged);
        places.Tidy();
        Reached(UpdateStep.Tidied);
        return new Updated(places.Folder, true, plan, []);
    }

    /// <summary>What somebody wrote into the folder meanwhile would go with it.</summary>
    private static void RequireUnchanged(LocalFolder before)
    {
        if (!LocalFolder.Read(before.FullPath).Files.SequenceEqual(before.Files))
            throw new CouldNotRunException($"{before.FullPath} changed while it was updated. Nothing of it was touched. Update again when nothing else writes there.");
    }
}
