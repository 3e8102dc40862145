using System.Text.Json;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Comparisons;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

public abstract record CompareReleasesOutcome
{
    private CompareReleasesOutcome() { }

    /// <summary>The outcome stands in the row.</summary>
    public sealed record Compared(long FromReleaseId) : CompareReleasesOutcome;

    /// <summary>No such pair, a draft that is not checked, or the row speaks of these folders already: of what differs, or that the maker stopped it.</summary>
    public sealed record NothingToDo : CompareReleasesOutcome;

    /// <summary>One of the two became another one meanwhile, so what came of it was not kept. The row still says that it wants comparing.</summary>
    public sealed record FolderChanged : CompareReleasesOutcome;

    /// <summary>The maker stopped it (<see cref="StopComparison"/>) since it began. What was measured is kept, nothing else.</summary>
    public sealed record NotWanted : CompareReleasesOutcome;

    /// <summary>
    /// It could not be done; the reason stands in the row, in words for the maker. Nothing else was changed, and it is not tried again before she asks
    /// or one of the two changes.
    /// </summary>
    public sealed record Stopped(string Reason, Exception? Fault) : CompareReleasesOutcome;

    /// <summary>The disk refused to write. The wish stands and the sweep tries again.</summary>
    public sealed record PutOff(string Reason, Exception Fault) : CompareReleasesOutcome;
}

/// <summary>
/// Holds one version against another of its library and keeps what it comes to. Safe to repeat: the outcome is one row, written once whole,
/// and marked with the folders it speaks of.
/// </summary>
public sealed class CompareReleases(ShelfDb db, IBlobStore blobs, TimeProvider clock, KnownFacts? known = null)
{
    /// <param name="releaseId">The version that is looked at; checked or sealed.</param>
    /// <param name="fromReleaseId">The one it is held against: sealed, of the same library.</param>
    /// <param name="cancellationToken">Ends the work; nothing is then written.</param>
    public async Task<CompareReleasesOutcome> RunAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken)
    {
        // Begun with: a wish that comes while this runs is another one.
        var askedAt = await db.ReleaseComparisons.Where(c => c.ReleaseId == releaseId && c.FromReleaseId == fromReleaseId)
            .Select(c => c.AskedAt).FirstOrDefaultAsync(cancellationToken);
        if (askedAt is null && await IsKnownAsync(releaseId, fromReleaseId, cancellationToken))
            return new CompareReleasesOutcome.NothingToDo();
        if (await ComparedRelease.LoadAsync(db, releaseId, cancellationToken) is not { Release.State: not ReleaseState.Draft } to
            || await ComparedRelease.LoadAsync(db, fromReleaseId, cancellationToken) is not { Release.IsSealed: true } from
            || from.Release.LibraryId != to.Release.LibraryId || fromReleaseId == releaseId)
            return new CompareReleasesOutcome.NothingToDo();
        var pair = new Pair(from, to, FolderMarks.OfPair(from.Marked, to.Marked)!, askedAt);
        try
        {
            await FolderMarks.KeepAsync(db, [releaseId, fromReleaseId], cancellationToken);
            if (askedAt is null && await IsDoneAsync(pair, cancellationToken))
                return new CompareReleasesOutcome.NothingToDo();
            if (!from.IsWhole || !to.IsWhole)
                return await StopAsync(pair, T("some of their files are not in the shelf’s store."), null, cancellationToken);
            return await CompareAsync(pair, cancellationToken) is { } outcome
                ? await KeepAsync(pair, outcome, null, new CompareReleasesOutcome.Compared(from.Release.Id), cancellationToken) : new CompareReleasesOutcome.NotWanted();
        }
        catch (OperationCanceledException) when (cancellationToken.IsCancellationRequested)
        {
            throw;
        }
        catch (WorkStoppedException)
        {
            return new CompareReleasesOutcome.NotWanted();
        }
        catch (Exception e) when (DiskTrouble.IsFull(e))
        {
            return PutOff(pair, e);
        }
#pragma warning disable CA1031 // Whatever is in two folders, what can't be compared must not keep a version from being sealed, nor be tried for ever.
        catch (Exception e)
#pragma warning restore CA1031
        {
            return await StopAsync(pair, WhyNot(e), e, cancellationToken);
        }
    }

    private static CompareReleasesOutcome.PutOff PutOff(Pair pair, Exception fault) => new(
        T($"{pair.Name} is not compared with {pair.From.Release.Number} yet: {DiskTrouble.WordsOf(fault)} Nothing was changed. It is tried again each minute by itself."), fault);

    private static string WhyNot(Exception fault) => fault switch
    {
        RecipeException => fault.Message,
        IOException or UnauthorizedAccessException => T("the shelf could not read some of its stored files."),
        _ => T("the shelf met something in them that it did not expect."),
    };

    /// <summary>By the folders' marks alone, which spares reading both folders to find that who waited for another comparing comes too late.</summary>
    private async Task<bool> IsKnownAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken) =>
        await CurrentComparison.RowAsync(db, releaseId, fromReleaseId, cancellationToken) is ({ AskedAt: null, Generation: ComparedRelease.Generation } or { AskedAt: null, StoppedAt: not null }, true);

    private Task<bool> IsDoneAsync(Pair pair, CancellationToken cancellationToken) => db.ReleaseComparisons.AnyAsync(
        c => c.ReleaseId == pair.To.Release.Id && c.FromReleaseId == pair.From.Release.Id && c.OfFolders == pair.Mark
            && (c.Generation == ComparedRelease.Generation || c.StoppedAt != null) && c.AskedAt == null, cancellationToken);

    /// <summary>Asked some times a second: nobody said of these two folders that it is not to go on.</summary>
    private async Task<bool> GoesOnAsync(Pair pair, CancellationToken cancellationToken) => !await db.ReleaseComparisons.AnyAsync(
        c => c.ReleaseId == pair.To.Release.Id && c.FromReleaseId == pair.From.Release.Id && c.OfFolders == pair.Mark && c.StoppedAt != null, cancellationToken);

    private async Task<CompareReleasesOutcome> StopAsync(Pair pair, string why, Exception? fault, CancellationToken cancellationToken)
    {
        var reason = T($"{pair.Name} could not be compared with {pair.From.Release.Number}: {why} Both versions are kept as they are, and it can be sealed "
            + $"without; no number is proposed then. Compare again; if it stops again, look at the shelf’s disk and its log.");
        try
        {
            return await KeepAsync(pair, null, reason, new CompareReleasesOutcome.Stopped(reason, fault), cancellationToken);
        }
        catch (Exception e) when (DiskTrouble.IsFull(e))
        {
            return PutOff(pair, e);
        }
    }

    /// <returns>Null: the maker stopped it.</returns>
    /// <exception cref="WorkStoppedException">The same.</exception>
    private async Task<CompareJson?> CompareAsync(Pair pair, CancellationToken cancellationToken)
    {
        var (from, to) = (pair.From, pair.To);
        // Most recordings are in both: asked for once.
        if (await new MeasureRecordings(db, blobs, clock, known).EnsureAsync(
            [.. from.Recordings.Union(to.Recordings, StringComparer.Ordinal)], (_, token) => GoesOnAsync(pair, token), cancellationToken) is not { } facts)
            return null;
        // What is to be carried asks nothing of what is heard: both at once.
        var sizes = Task.Run(() => SizesOf(from, to), cancellationToken);
        var far = Progress.OfThings(0, 0);
        var notes = new ProgressNotes(db, clock, ProgressNotes.Compare(to.Release.Id, from.Release.Id));
        try
        {
            var comparison = await notes.FollowAsync(
                stop => Task.Run(() => FolderComparison.Compare(
                    from.ToFolder(facts, blobs), to.ToFolder(facts, blobs), from.Release.Number, stop, (done, all) => far = Progress.OfThings(done, all)), stop),
                () => Volatile.Read(ref far), token => GoesOnAsync(pair, token), cancellationToken);
            return CompareJson.Of(comparison, await sizes);
        }
        finally
        {
            await notes.EndAsync();
        }
    }

    /// <summary>Where no update archive is possible, the whole library is what there is to fetch.</summary>
    private static CompareJson.UpdatePart SizesOf(ComparedRelease from, ComparedRelease to)
    {
        var (old, next) = (from.ToRecipe(), to.ToRecipe());
        var (fromNumber, toNumber, full) = (from.Release.Number, to.Release.Number, new ArchiveLayout(next).Length);
        var update = UpdateArchive.Obstacle(old, next, fromNumber, toNumber) is null
            ? new ArchiveLayout(UpdateArchive.Build(old, next, fromNumber, toNumber)).Length : full;
        return new CompareJson.UpdatePart(update, full);
    }

    /// <returns><paramref name="kept"/>; another, and nothing is written, where it speaks of what one of the two is no more, or the maker stopped it in its last moment.</returns>
    private Task<CompareReleasesOutcome> KeepAsync(Pair pair, CompareJson? outcome, string? trouble, CompareReleasesOutcome kept, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync(db, () => WriteAsync(pair, outcome, trouble, kept, cancellationToken), FreshEyes.Never<CompareReleasesOutcome>);

    private async Task<CompareReleasesOutcome> WriteAsync(Pair pair, CompareJson? outcome, string? trouble, CompareReleasesOutcome kept, CancellationToken cancellationToken)
    {
        var (toId, fromId) = (pair.To.Release.Id, pair.From.Release.Id);
        db.ChangeTracker.Clear();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (!CurrentComparison.Holds(pair.Mark, toId, fromId, await FolderMarks.LoadAsync(db, [toId, fromId], cancellationToken)))
            return new CompareReleasesOutcome.FolderChanged();
        var row = await db.ReleaseComparisons.FindAsync([toId, fromId], cancellationToken);
        if (row is null)
            db.ReleaseComparisons.Add(row = new ReleaseComparison { ReleaseId = toId, FromReleaseId = fromId });
        if (row.StoppedAt is not null && row.OfFolders == pair.Mark)
            return new CompareReleasesOutcome.NotWanted();
        if (row.AskedAt <= pair.AskedAt)
            row.AskedAt = null;
        row.StoppedAt = null;
        // What an older generation said of the same folders is better than nothing.
        if (outcome is not null || row.OfFolders != pair.Mark)
            (row.Outcome, row.Summary) = outcome is null ? ("", "") : (JsonSerializer.Serialize(outcome, ComparisonReading.Json), ChangeSummary.Of(outcome).Write());
        (row.ComparedAt, row.OfFolders, row.Generation, row.Trouble) = (clock.GetUtcNow(), pair.Mark, ComparedRelease.Generation, trouble);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return kept;
    }

    private sealed record Pair(ComparedRelease From, ComparedRelease To, string Mark, DateTimeOffset? AskedAt)
    {
        public string Name => $"{To.Release.Library.Title} {To.Release.Number}";
    }
}
