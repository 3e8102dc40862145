using System.Text.Json;
using LibraryShelf.Core.Catalog;
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

    /// <summary>No such pair, a draft that is not checked, or the row speaks of these folders already.</summary>
    public sealed record NothingToDo : CompareReleasesOutcome;

    /// <summary>It could not be done; the reason stands in the row, in words for the maker. Nothing else was changed.</summary>
    public sealed record Stopped(string Reason, Exception Fault) : CompareReleasesOutcome;

    /// <summary>The disk refused to write. The wish stands and the sweep tries again.</summary>
    public sealed record PutOff(string Reason, Exception Fault) : CompareReleasesOutcome;
}

/// <summary>
/// Holds one version against another of its library and keeps what it comes to. Safe to repeat: the outcome is one row, written once whole,
/// and marked with the folders it speaks of.
/// </summary>
public sealed class CompareReleases(ShelfDb db, IBlobStore blobs, TimeProvider clock)
{
    /// <param name="releaseId">The version that is looked at; checked or sealed.</param>
    /// <param name="fromReleaseId">The one it is held against: sealed, of the same library.</param>
    /// <param name="cancellationToken">Ends the work; nothing is then written.</param>
    public async Task<CompareReleasesOutcome> RunAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken)
    {
        if (await ComparedRelease.LoadAsync(db, releaseId, cancellationToken) is not { Release.State: not ReleaseState.Draft } to
            || await ComparedRelease.LoadAsync(db, fromReleaseId, cancellationToken) is not { Release.IsSealed: true } from
            || from.Release.LibraryId != to.Release.LibraryId || fromReleaseId == releaseId)
            return new CompareReleasesOutcome.NothingToDo();
        var mark = ComparedRelease.Mark(from, to);
        if (await db.ReleaseComparisons.AnyAsync(c => c.ReleaseId == to.Release.Id && c.FromReleaseId == from.Release.Id && c.OfFolders == mark && c.AskedAt == null, cancellationToken))
            return new CompareReleasesOutcome.NothingToDo();
        var name = $"{to.Release.Library.Title} {to.Release.Number}";
        try
        {
            var outcome = await CompareAsync(from, to, cancellationToken);
            await FreshEyes.LookAsync(db, () => WriteAsync(from, to, mark, outcome, null, cancellationToken), FreshEyes.Never<bool>);
            return new CompareReleasesOutcome.Compared(from.Release.Id);
        }
        catch (Exception e) when (DiskTrouble.IsFull(e))
        {
            return new CompareReleasesOutcome.PutOff(
                $"{name} is not compared with {from.Release.Number} yet: {DiskTrouble.WordsOf(e)} Nothing was changed. It is tried again each minute by itself.", e);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or RecipeException)
        {
            var reason = $"{name} could not be compared with {from.Release.Number}: {(e is RecipeException ? e.Message : "the shelf could not read some of its stored files.")} "
                + "Nothing was changed. Compare again; if it stops again, look at the shelf's disk and its log.";
            await FreshEyes.LookAsync(db, () => WriteAsync(from, to, mark, null, reason, cancellationToken), FreshEyes.Never<bool>);
            return new CompareReleasesOutcome.Stopped(reason, e);
        }
    }

    private async Task<CompareJson> CompareAsync(ComparedRelease from, ComparedRelease to, CancellationToken cancellationToken)
    {
        var comparison = FolderComparison.Compare(
            await from.ToFolderAsync(db, blobs, clock, cancellationToken), await to.ToFolderAsync(db, blobs, clock, cancellationToken),
            from.Release.Number, cancellationToken);
        var (old, next) = (from.ToRecipe(), to.ToRecipe());
        var (fromNumber, toNumber, full) = (from.Release.Number, to.Release.Number, new ArchiveLayout(next).Length);
        // Where no update archive is possible, the whole library is what there is to fetch.
        var update = UpdateArchive.Obstacle(old, next, fromNumber, toNumber) is null
            ? new ArchiveLayout(UpdateArchive.Build(old, next, fromNumber, toNumber)).Length : full;
        return CompareJson.Of(comparison, new CompareJson.UpdatePart(update, full));
    }

    private async Task<bool> WriteAsync(
        ComparedRelease from, ComparedRelease to, string mark, CompareJson? outcome, string? trouble, CancellationToken cancellationToken)
    {
        db.ChangeTracker.Clear();
        var row = await db.ReleaseComparisons.FindAsync([to.Release.Id, from.Release.Id], cancellationToken);
        if (row is null)
            db.ReleaseComparisons.Add(row = new ReleaseComparison { ReleaseId = to.Release.Id, FromReleaseId = from.Release.Id });
        (row.AskedAt, row.ComparedAt, row.OfFolders, row.Trouble) = (null, clock.GetUtcNow(), mark, trouble);
        (row.Outcome, row.Summary) = outcome is null ? ("", "") : (JsonSerializer.Serialize(outcome, ComparisonReading.Json), ChangeSummary.Of(outcome).Write());
        await db.SaveChangesAsync(cancellationToken);
        return true;
    }
}
