using System.Security.Cryptography;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

public abstract record DigestArchiveOutcome
{
    private DigestArchiveOutcome() { }

    /// <summary>The archive's SHA-256, 64 lower-case hex digits, and it is kept.</summary>
    public sealed record Digested(string Sha256) : DigestArchiveOutcome;

    public sealed record NothingToDo : DigestArchiveOutcome;

    /// <summary>The maker stopped it (<see cref="StopReading"/>), before it began or since. Nothing was changed: what the reading before found still stands.</summary>
    /// <param name="Trouble">What that said; null: all was well, or there was none.</param>
    public sealed record NotWanted(string? Trouble) : DigestArchiveOutcome;

    /// <summary>
    /// The store does not give back what was put into it (altered, cut, gone, or not to be read just now). The reason stands on the
    /// archive, in words for the maker; it is read again when she asks, at the next start, and each day.
    /// </summary>
    public sealed record Damaged(string Reason, Exception Fault) : DigestArchiveOutcome;
}

/// <summary>
/// Reads a sealed archive through once, as a download would, and keeps the SHA-256 of its bytes. Every file is held against
/// its size and CRC-32 on the way, so a digest is also a proof that the store has the whole release.
/// </summary>
public sealed class DigestArchive(ShelfDb db, IBlobStore blobs, TimeProvider clock)
{
    public async Task<DigestArchiveOutcome> RunAsync(long archiveId, CancellationToken cancellationToken)
    {
        var archive = await db.Archives.AsNoTracking().FirstOrDefaultAsync(a => a.Id == archiveId, cancellationToken);
        if (archive is null || archive.Sha256 is not null)
            return new DigestArchiveOutcome.NothingToDo();
        if (archive.ReadStoppedAt is not null)
            return new DigestArchiveOutcome.NotWanted(archive.Trouble);
        string sha256;
        try
        {
            sha256 = await HashAsync(archive, cancellationToken);
        }
        catch (WorkStoppedException)
        {
            return new DigestArchiveOutcome.NotWanted(archive.Trouble);
        }
        catch (Exception e) when (e is InvalidDataException or IOException or UnauthorizedAccessException or FormatException)
        {
            return await KeepTroubleAsync(archive, e, cancellationToken);
        }
        await db.Archives.Where(a => a.Id == archiveId)
            .ExecuteUpdateAsync(a => a
                .SetProperty(x => x.Sha256, sha256).SetProperty(x => x.Trouble, (string?)null)
                .SetProperty(x => x.ReadAskedAt, (DateTimeOffset?)null).SetProperty(x => x.ReadStoppedAt, (DateTimeOffset?)null), cancellationToken);
        return new DigestArchiveOutcome.Digested(sha256);
    }

    /// <summary>Kept on the row, so that the sweep does not read gigabytes in vain each minute.</summary>
    private async Task<DigestArchiveOutcome> KeepTroubleAsync(Archive archive, Exception fault, CancellationToken cancellationToken)
    {
        var reason = T($"{archive.FileName} can’t be read through: {What(fault)} A download of it may break off. Nothing was changed. "
            + $"Look at the shelf’s disk, bring the stored files back from a copy if they are gone, then read it through again.");
        await db.Archives.Where(a => a.Id == archive.Id)
            .ExecuteUpdateAsync(a => a.SetProperty(x => x.Trouble, reason).SetProperty(x => x.ReadAskedAt, (DateTimeOffset?)null), cancellationToken);
        return new DigestArchiveOutcome.Damaged(reason, fault);
    }

    /// <summary>What the store says of a file by its path on this machine is for the log; what the archive's own rules say, for the maker.</summary>
    private static string What(Exception fault) => fault switch
    {
        FileNotFoundException or DirectoryNotFoundException => T("a stored file is gone."),
        EndOfStreamException => T("a stored file was cut short."),
        UnauthorizedAccessException => T("the shelf may not read a stored file."),
        InvalidDataException or FormatException => fault.Message.TrimEnd('.') + ".",
        _ => T("the disk failed at reading a stored file."),
    };

    private async Task<string> HashAsync(Archive archive, CancellationToken cancellationToken)
    {
        var layout = new ArchiveLayout(await ReadRecipeAsync(archive.RecipeSha256, cancellationToken));
        if (layout.Length != archive.Length)
            throw new InvalidDataException(T($"its recipe gives {layout.Length} bytes, not {archive.Length}."));
        using var hash = SHA256.Create();
        var read = 0L;
        var notes = new ProgressNotes(db, clock, ProgressNotes.Digest(archive.Id));
        try
        {
            return await notes.FollowAsync(
                stop => Task.Run(() => ReadAsync(stop), stop), () => Progress.OfBytes(Volatile.Read(ref read), layout.Length),
                token => db.Archives.AnyAsync(a => a.Id == archive.Id && a.ReadStoppedAt == null, token), cancellationToken);
        }
        finally
        {
            await notes.EndAsync();
        }

        async Task<string> ReadAsync(CancellationToken stop)
        {
            await using (var into = new CryptoStream(Stream.Null, hash, CryptoStreamMode.Write))
                await ArchiveWriter.WriteAsync(layout, blobs.Open, into, 0, layout.Length, stop, bytes => Interlocked.Add(ref read, bytes));
            return Convert.ToHexStringLower(hash.Hash!);
        }
    }

    private async Task<Recipe> ReadRecipeAsync(string sha256, CancellationToken cancellationToken)
    {
        await using var stored = blobs.Open(sha256);
        using var bytes = new MemoryStream();
        await stored.CopyToAsync(bytes, cancellationToken);
        var recipe = Recipe.Parse(bytes.ToArray());
        return recipe.Sha256 == sha256 ? recipe : throw new InvalidDataException(T("its recipe is not the one it was sealed with."));
    }
}
