using LibraryShelf.Audio.Previews;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Listening;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

public abstract record MakeMusicOutcome
{
    private MakeMusicOutcome() { }

    public sealed record Made : MakeMusicOutcome;

    /// <summary>There is none, or it was made already, or it was taken off the page, or another one was sent, meanwhile.</summary>
    public sealed record NothingToDo : MakeMusicOutcome;

    /// <summary>It can't be made; the reason stands in the row, in words for the maker, and it is not tried again. No fault: it is no recording.</summary>
    public sealed record Refused(string Reason, Exception? Fault) : MakeMusicOutcome;

    /// <summary>The disk refused. Nothing was changed, and the sweep tries again.</summary>
    public sealed record PutOff(string Reason, Exception Fault) : MakeMusicOutcome;
}

/// <summary>Makes what is heard of a library's piece of music from the recording that was sent.</summary>
public sealed class MakeMusic(ShelfDb db, IBlobStore blobs, TimeProvider clock)
{
    /// <summary>Happens on the work's thread after each second of sound; for tests.</summary>
    internal Action<CancellationToken>? Between { get; init; }

    public async Task<MakeMusicOutcome> RunAsync(long libraryId, CancellationToken cancellationToken)
    {
        var row = await db.LibraryMusic.AsNoTracking().FirstOrDefaultAsync(m => m.LibraryId == libraryId, cancellationToken);
        if (row is null || row.Generation == ListeningSet.Generation || row.Trouble is not null)
            return new MakeMusicOutcome.NothingToDo();
        try
        {
            var made = await MakeAsync(row, cancellationToken);
            return made is null ? await RefuseAsync(row, null, cancellationToken) : await KeepAsync(row, made, cancellationToken);
        }
        catch (OperationCanceledException) when (cancellationToken.IsCancellationRequested)
        {
            throw;
        }
        catch (WorkStoppedException)
        {
            return new MakeMusicOutcome.NothingToDo();
        }
        catch (Exception e) when (DiskTrouble.WordsOf(e) is { } words)
        {
            return new MakeMusicOutcome.PutOff(T($"{Name(row)} can’t be heard yet: {words} Nothing was changed. It is tried again each minute by itself."), e);
        }
#pragma warning disable CA1031 // Whatever is in a recording, it must be neither tried each minute for ever nor in the way of all else that is to be heard.
        catch (Exception e)
#pragma warning restore CA1031
        {
            return await RefuseAsync(row, e, cancellationToken);
        }
    }

    private static string Name(LibraryMusic row) => T($"The piece of music “{row.Title}”");

    /// <summary>Taken off the page or replaced meanwhile, it is not made to its end.</summary>
    private async Task<MusicFiles?> MakeAsync(LibraryMusic row, CancellationToken cancellationToken)
    {
        var far = Progress.OfThings(0, 0);
        var notes = new ProgressNotes(db, clock, ProgressNotes.Music(row.LibraryId));
        try
        {
            return await notes.FollowAsync(
                stop => Task.Run(() => Make(row.SourceSha256, (done, all) =>
                {
                    if (far.Done == done && far.Total == all)
                        return;
                    far = Progress.OfThings(done, all);
                    Between?.Invoke(stop);
                }, stop), stop), () => Volatile.Read(ref far),
                ct => db.LibraryMusic.AnyAsync(m => m.LibraryId == row.LibraryId && m.SourceSha256 == row.SourceSha256, ct), cancellationToken);
        }
        finally
        {
            await notes.EndAsync();
        }
    }

    private MusicFiles? Make(string sha256, Action<int, int> told, CancellationToken cancellationToken)
    {
        using var stream = blobs.Open(sha256);
        return SoundReading.Read(stream, 0, MusicMaking.MostSeconds) is { Frames: > 0 } sound ? MusicMaking.Make(sound, cancellationToken, told) : null;
    }

    private async Task<MakeMusicOutcome> KeepAsync(LibraryMusic row, MusicFiles made, CancellationToken cancellationToken)
    {
        var stored = new List<StoredBytes>();
        foreach (var file in new[] { made.Opus, made.Wav })
        {
            using var bytes = new MemoryStream(file.ToArray(), writable: false);
            stored.Add(await blobs.PutAsync(bytes, cancellationToken));
        }
        return await FreshEyes.LookAsync<MakeMusicOutcome>(db, async () =>
        {
            await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
            await BlobRows.RecordAsync(db, stored, clock.GetUtcNow(), cancellationToken);
            await db.SaveChangesAsync(cancellationToken);
            var (opus, wav) = (stored[0].Sha256, stored[1].Sha256);
            var kept = await db.LibraryMusic.Where(m => m.LibraryId == row.LibraryId && m.SourceSha256 == row.SourceSha256).ExecuteUpdateAsync(m => m
                .SetProperty(x => x.OpusSha256, opus).SetProperty(x => x.WavSha256, wav).SetProperty(x => x.Generation, ListeningSet.Generation)
                .SetProperty(x => x.Seconds, made.Seconds).SetProperty(x => x.LoudnessLufs, made.LoudnessLufs).SetProperty(x => x.TruePeakDbtp, made.TruePeakDbtp), cancellationToken);
            await transaction.CommitAsync(cancellationToken);
            db.ChangeTracker.Clear();
            return kept > 0 ? new MakeMusicOutcome.Made() : new MakeMusicOutcome.NothingToDo();
        }, FreshEyes.Never<MakeMusicOutcome>);
    }

    private async Task<MakeMusicOutcome> RefuseAsync(LibraryMusic row, Exception? fault, CancellationToken cancellationToken)
    {
        db.ChangeTracker.Clear();
        var why = fault is null or FileNotFoundException or DirectoryNotFoundException
            ? T($"{Name(row)} is not on the library’s page: its recording can’t be read any more. Its title and credit are kept, and nothing else was changed. Send the recording again.")
            : T($"{Name(row)} is not on the library’s page: it could be read, but the shelf stopped while it made from it what people hear, and does not try this recording again. Its title and credit are kept, and nothing else was changed. "
                + $"WAV and AIFF are taken, at most {MusicMaking.MostSeconds / 60} minutes long: save it anew in the program it comes from, and send that.");
        await db.LibraryMusic.Where(m => m.LibraryId == row.LibraryId && m.SourceSha256 == row.SourceSha256)
            .ExecuteUpdateAsync(m => m.SetProperty(x => x.Trouble, why), cancellationToken);
        return new MakeMusicOutcome.Refused(why, fault);
    }
}
