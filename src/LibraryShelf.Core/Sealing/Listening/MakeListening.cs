using System.Text.Json;
using LibraryShelf.Audio;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Listening;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

public abstract record MakeListeningOutcome
{
    private MakeListeningOutcome() { }

    /// <summary>It can be heard, by so many files; none when nothing of it can be played.</summary>
    public sealed record Made(int Files) : MakeListeningOutcome;

    /// <summary>Not on the shelf, gone, made already, or the maker does not want it made now, since before or since this moment.</summary>
    public sealed record NothingToDo : MakeListeningOutcome;

    /// <summary>It could not be made; the reason stands in the row, in words for the maker. It is tried again a day later.</summary>
    public sealed record Stopped(string Reason, Exception Fault) : MakeListeningOutcome;

    /// <summary>The disk refused to write. Nothing was changed, and the sweep tries again.</summary>
    public sealed record PutOff(string Reason, Exception Fault) : MakeListeningOutcome;
}

/// <summary>
/// Makes what can be heard of a version on the shelf (excerpts, and a set to play in its page) from its recordings. Files become blobs first; then one transaction writes
/// all rows in the place of those of the library's other versions, so that a kill leaves the old set or the new one. The same version gives the same files.
/// </summary>
public sealed class MakeListening(ShelfDb db, IBlobStore blobs, TimeProvider clock, KnownFacts? known = null)
{
    public async Task<MakeListeningOutcome> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        if (await ComparedRelease.LoadAsync(db, releaseId, cancellationToken) is not { Release: { State: ReleaseState.Published, ListenHeldAt: null } } release
            || await FindUnheard.IsDoneAsync(db, releaseId, clock.GetUtcNow(), cancellationToken))
            return new MakeListeningOutcome.NothingToDo();
        try
        {
            var facts = await new MeasureRecordings(db, blobs, clock, known).EnsureAsync([.. release.Recordings], cancellationToken);
            db.ChangeTracker.Clear();
            return await KeepAsync(release.Release, await MakeAsync(release, facts, cancellationToken), cancellationToken);
        }
        catch (OperationCanceledException) when (cancellationToken.IsCancellationRequested)
        {
            throw;
        }
        catch (WorkStoppedException)
        {
            return new MakeListeningOutcome.NothingToDo();
        }
        catch (Exception e) when (DiskTrouble.IsFull(e))
        {
            return new MakeListeningOutcome.PutOff(
                T($"{Name(release)} can’t be listened to yet: {DiskTrouble.WordsOf(e)} Nothing was changed. It is tried again each minute by itself."), e);
        }
#pragma warning disable CA1031 // Whatever is in a folder, what can't be played must not be tried each minute for ever.
        catch (Exception e)
#pragma warning restore CA1031
        {
            return await StopAsync(release, e, cancellationToken);
        }
    }

    private async Task<ListeningSet?> MakeAsync(ComparedRelease release, IReadOnlyDictionary<string, RecordingFacts> facts, CancellationToken cancellationToken)
    {
        var (far, id, isPitched) = (Progress.OfThings(0, 0), release.Release.Id, release.Release.Library.IsPitched);
        var notes = new ProgressNotes(db, clock, ProgressNotes.Listen(id));
        try
        {
            return await notes.FollowAsync(
                stop => Task.Run(() => ListeningMaking.Make(release.ToFolder(facts, blobs), isPitched, stop, (done, all) => far = Progress.OfThings(done, all)), stop),
                () => Volatile.Read(ref far), ct => db.Releases.AnyAsync(r => r.Id == id && r.ListenHeldAt == null, ct), cancellationToken);
        }
        finally
        {
            await notes.EndAsync();
        }
    }

    private static string Name(ComparedRelease release) => $"{release.Release.Library.Title} {release.Release.Number}";

    private async Task<MakeListeningOutcome> KeepAsync(Release release, ListeningSet? made, CancellationToken cancellationToken)
    {
        var stored = new List<(string Name, StoredBytes Bytes)>();
        foreach (var file in made?.Files ?? [])
        {
            using var bytes = new MemoryStream(file.Bytes.ToArray(), writable: false);
            stored.Add((file.Name, await blobs.PutAsync(bytes, cancellationToken)));
        }
        await WriteAsync(new ReleaseListening
        {
            ReleaseId = release.Id, Excerpts = JsonSerializer.Serialize(made?.Excerpts ?? []), PlayableBytes = made?.KeyboardBytes ?? 0,
            GainDb = made?.GainDb ?? 0, LoudnessLufs = made?.LoudnessLufs, TruePeakDbtp = made?.TruePeakDbtp,
        }, release.Library.IsPitched, stored, cancellationToken);
        return new MakeListeningOutcome.Made(stored.Count);
    }

    /// <summary>An older set stays as it is.</summary>
    private async Task<MakeListeningOutcome> StopAsync(ComparedRelease release, Exception fault, CancellationToken cancellationToken)
    {
        var why = fault is IOException or UnauthorizedAccessException
            ? T("the shelf could not read some of its stored files.") : T("the shelf met something in its recordings or mappings that it did not expect.");
        var reason = T($"{Name(release)} can’t be listened to on its page: {why} The version is kept as it is, and can be downloaded. It is tried again in a day; "
            + $"if it stops again, look at the shelf’s disk and its log.");
        db.ChangeTracker.Clear();
        var now = clock.GetUtcNow();
        var had = await db.Listenings.Where(l => l.ReleaseId == release.Release.Id)
            .ExecuteUpdateAsync(l => l.SetProperty(x => x.Trouble, reason).SetProperty(x => x.MadeAt, now), cancellationToken);
        if (had == 0)
            await WriteAsync(new ReleaseListening { ReleaseId = release.Release.Id, Trouble = reason }, release.Release.Library.IsPitched, [], cancellationToken);
        return new MakeListeningOutcome.Stopped(reason, fault);
    }

    private Task<bool> WriteAsync(ReleaseListening row, bool isPitched, List<(string Name, StoredBytes Bytes)> stored, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync(db, async () =>
        {
            var now = clock.GetUtcNow();
            await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
            await BlobRows.RecordAsync(db, [.. stored.Select(s => s.Bytes)], now, cancellationToken);
            var versions = db.Releases.Where(r => r.LibraryId == db.Releases.First(own => own.Id == row.ReleaseId).LibraryId).Select(r => r.Id);
            await db.ListeningFiles.Where(f => versions.Contains(f.ReleaseId)).ExecuteDeleteAsync(cancellationToken);
            await db.Listenings.Where(l => versions.Contains(l.ReleaseId)).ExecuteDeleteAsync(cancellationToken);
            // Made for a kit of what is none any more, or the other way round: heard till it is made anew.
            var isSo = await db.Releases.AnyAsync(r => r.Id == row.ReleaseId && r.Library.IsPitched == isPitched, cancellationToken);
            (row.Generation, row.MadeAt) = (isSo ? ListeningSet.Generation : 0, now);
            db.Listenings.Add(row);
            db.ListeningFiles.AddRange(stored.Select(s => new ListeningFile { ReleaseId = row.ReleaseId, Name = s.Name, Sha256 = s.Bytes.Sha256, Size = s.Bytes.Size }));
            await db.SaveChangesAsync(cancellationToken);
            await transaction.CommitAsync(cancellationToken);
            db.ChangeTracker.Clear();
            return true;
        }, FreshEyes.Never<bool>);
}
