using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Update;

/// <summary>After which of its steps an update may be cut off; tests do that at each. Building and Tidying come once for each file.</summary>
internal enum UpdateStep { Taken, Building, Built, BetweenRenames, Exchanged, Tidying, Tidied }

/// <summary>What an update came to. With discrepancies nothing was changed.</summary>
/// <param name="KeptAside">Folders that hold what somebody saved while the update ran, or had saved when an earlier one was cut off.</param>
internal sealed record Updated(string Folder, bool Changed, UpdatePlan? Plan, IReadOnlyList<Discrepancy> Discrepancies, IReadOnlyList<string> KeptAside);

/// <summary>
/// Makes a folder into another version: the new one is built beside it, their names are exchanged, the old one goes. A kill at any point
/// leaves the old or the new folder, and the next run ends what was begun. What somebody saves into the folder meanwhile stops the update;
/// saved at the very last moment it is found after the exchange, and the folder as it was is kept beside the new one.
/// </summary>
internal sealed class FolderUpdater(ShelfConsole console)
{
    public Action<UpdateStep> Reached { get; init; } = _ => { };
    public Func<string, string, bool> Link { get; init; } = SystemCalls.TryLink;
    public bool ExchangeAtOnce { get; init; } = true;

    /// <summary>CouldNotRunException says what stands in the way; the old folder is then as it was.</summary>
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
            places.GiveUp();
            throw;
        }
    }

    private async Task<Updated> UpdateAsync(UpdatePlaces places, UpdateSource source, CancellationToken cancellationToken)
    {
        Reached(UpdateStep.Taken);
        var old = await UpdateFolder.ReadAsync(places.Folder, console, cancellationToken);
        if (old.Altered() is { Count: > 0 } altered)
            return Unchanged(places, null, altered);
        var plan = UpdatePlan.Make(old, source);
        if (plan.Removed.Count == 0 && old.Listed.SequenceEqual(source.Listed))
            return Unchanged(places, plan, []);
        var next = new NewFolder(old, source, plan, places.New, Link);
        using (var progress = console.StartProgress("Writing", plan.Files.Sum(f => f.From is null ? source.SizeOf(f.Path) : 0)))
        {
            await next.BuildAsync(written =>
            {
                progress.Add(written);
                Reached(UpdateStep.Building);
            }, cancellationToken);
        }
        Reached(UpdateStep.Built);
        if (await old.Meanwhile.FindAsync(places.Folder, old.Hashes, _ => false) is { } saved)
            throw new CouldNotRunException($"\"{saved}\" in {places.Folder} changed while it was updated. Nothing of it was touched. Update again when nothing else writes there.");
        await ExchangeAsync(places, old, next);
        return new Updated(places.Folder, true, plan, [], places.KeptAside);
    }

    private static Updated Unchanged(UpdatePlaces places, UpdatePlan? plan, IReadOnlyList<Discrepancy> altered)
    {
        places.Tidy(() => { });
        return new Updated(places.Folder, false, plan, altered, places.KeptAside);
    }

    private async Task ExchangeAsync(UpdatePlaces places, UpdateFolder old, NewFolder next)
    {
        var left = places.Exchange(ExchangeAtOnce, () => Reached(UpdateStep.BetweenRenames));
        Reached(UpdateStep.Exchanged);
        try
        {
            // Nobody finds the old folder by its name any more. A file that both folders share can't be lost with one of them; all others are read.
            if (await old.Meanwhile.FindAsync(left, old.Hashes, path => !next.Linked.Contains(path)) is not null)
                places.KeepAsItWas(left);
            places.Tidy(() => Reached(UpdateStep.Tidying));
        }
        catch (Exception e) when (e is CouldNotRunException or IOException or UnauthorizedAccessException)
        {
            console.Remark($"{places.Folder} is updated. What it was made from could not be cleared away: {e.Message} The next `shelf update` of it does that.");
        }
        Reached(UpdateStep.Tidied);
    }
}
