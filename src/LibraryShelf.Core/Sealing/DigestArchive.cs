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

    /// <summary>The store no longer gives back what was put into it. An operator's matter, with words for the log.</summary>
    public sealed record Damaged(string Reason) : DigestArchiveOutcome;
}

/// <summary>
/// Reads a sealed archive through once, as a download would, and keeps the SHA-256 of its bytes. Every file is held against
/// its size and CRC-32 on the way, so a digest is also a proof that the store has the whole release.
/// </summary>
public sealed class DigestArchive(ShelfDb db, IBlobStore blobs)
{
    public async Task<DigestArchiveOutcome> RunAsync(long archiveId, CancellationToken cancellationToken)
    {
        var archive = await db.Archives.AsNoTracking().FirstOrDefaultAsync(a => a.Id == archiveId, cancellationToken);
        if (archive is null || archive.Sha256 is not null)
            return new DigestArchiveOutcome.NothingToDo();
        string sha256;
        try
        {
            sha256 = await HashAsync(archive, cancellationToken);
        }
        catch (Exception e) when (e is InvalidDataException or FileNotFoundException or FormatException)
        {
            return await KeepTroubleAsync(archive, $"{archive.FileName} can't be read through: {e.Message}", cancellationToken);
        }
        await db.Archives.Where(a => a.Id == archiveId)
            .ExecuteUpdateAsync(a => a
                .SetProperty(x => x.Sha256, sha256).SetProperty(x => x.Trouble, (string?)null), cancellationToken);
        return new DigestArchiveOutcome.Digested(sha256);
    }

    /// <summary>Kept on the row, so that the sweep does not read gigabytes in vain each minute.</summary>
    private async Task<DigestArchiveOutcome> KeepTroubleAsync(Archive archive, string reason, CancellationToken cancellationToken)
    {
        await db.Archives.Where(a => a.Id == archive.Id)
            .ExecuteUpdateAsync(a => a.SetProperty(x => x.Trouble, reason), cancellationToken);
        return new DigestArchiveOutcome.Damaged(reason);
    }

    private async Task<string> HashAsync(Archive archive, CancellationToken cancellationToken)
    {
        var layout = new ArchiveLayout(await ReadRecipeAsync(archive.RecipeSha256, cancellationToken));
        if (layout.Length != archive.Length)
            throw new InvalidDataException($"its recipe gives {layout.Length} bytes, not {archive.Length}.");
        using var hash = SHA256.Create();
        await using (var into = new CryptoStream(Stream.Null, hash, CryptoStreamMode.Write))
            await ArchiveWriter.WriteAsync(layout, blobs.Open, into, 0, layout.Length, cancellationToken);
        return Convert.ToHexStringLower(hash.Hash!);
    }

    private async Task<Recipe> ReadRecipeAsync(string sha256, CancellationToken cancellationToken)
    {
        await using var stored = blobs.Open(sha256);
        using var bytes = new MemoryStream();
        await stored.CopyToAsync(bytes, cancellationToken);
        var recipe = Recipe.Parse(bytes.ToArray());
        return recipe.Sha256 == sha256 ? recipe : throw new InvalidDataException("its recipe is not the one it was sealed with.");
    }
}
