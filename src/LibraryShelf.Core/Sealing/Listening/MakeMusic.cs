using LibraryShelf.Audio.Previews;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Listening;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

public enum MakeMusicOutcome
{
    Made,
    /// <summary>There is none, or it was made already, or another one was sent meanwhile.</summary>
    NothingToDo,
    /// <summary>It can't be read; the row says why.</summary>
    Refused,
    /// <summary>The disk refused to write. Nothing was changed, and the sweep tries again.</summary>
    PutOff,
}

/// <summary>Makes what is heard of a library's piece of music from the recording that was sent.</summary>
public sealed class MakeMusic(ShelfDb db, IBlobStore blobs, TimeProvider clock)
{
    public async Task<MakeMusicOutcome> RunAsync(long libraryId, CancellationToken cancellationToken)
    {
        var row = await db.LibraryMusic.AsNoTracking().FirstOrDefaultAsync(m => m.LibraryId == libraryId, cancellationToken);
        if (row is null || row.Generation == ListeningSet.Generation || row.Trouble is not null)
            return MakeMusicOutcome.NothingToDo;
        try
        {
            var made = await Task.Run(() => Make(row.SourceSha256), cancellationToken);
            return made is null ? await RefuseAsync(row, cancellationToken) : await KeepAsync(row, made, cancellationToken);
        }
        catch (Exception e) when (e is FileNotFoundException or DirectoryNotFoundException)
        {
            return await RefuseAsync(row, cancellationToken);
        }
        catch (Exception e) when (DiskTrouble.WordsOf(e) is not null)
        {
            return MakeMusicOutcome.PutOff;
        }
    }

    private MusicFiles? Make(string sha256)
    {
        using var stream = blobs.Open(sha256);
        return SoundReading.Read(stream, 0, MusicMaking.MostSeconds) is { Frames: > 0 } sound ? MusicMaking.Make(sound) : null;
    }

    private async Task<MakeMusicOutcome> KeepAsync(LibraryMusic row, MusicFiles made, CancellationToken cancellationToken)
    {
        var stored = new List<StoredBytes>();
        foreach (var file in new[] { made.Opus, made.Wav })
        {
            using var bytes = new MemoryStream(file.ToArray(), writable: false);
            stored.Add(await blobs.PutAsync(bytes, cancellationToken));
        }
        return await FreshEyes.LookAsync(db, async () =>
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
            return kept > 0 ? MakeMusicOutcome.Made : MakeMusicOutcome.NothingToDo;
        }, FreshEyes.Never<MakeMusicOutcome>);
    }

    private async Task<MakeMusicOutcome> RefuseAsync(LibraryMusic row, CancellationToken cancellationToken)
    {
        const string why = "The piece of music can't be read any more, so it is not on the library's page. Nothing else was changed. Send it again.";
        await db.LibraryMusic.Where(m => m.LibraryId == row.LibraryId && m.SourceSha256 == row.SourceSha256)
            .ExecuteUpdateAsync(m => m.SetProperty(x => x.Trouble, why), cancellationToken);
        return MakeMusicOutcome.Refused;
    }
}
