using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

public abstract record SealReleaseOutcome
{
    private SealReleaseOutcome() { }

    /// <summary>The release is sealed and has this archive; wake its digest, then publish it for these people (null: not now).</summary>
    public sealed record Sealed(long ArchiveId, Audience? PublishFor) : SealReleaseOutcome;

    /// <summary>Not asked for, gone, or changed under our hands; the row says what to do next.</summary>
    public sealed record NothingToDo : SealReleaseOutcome;

    /// <summary>It could not be sealed. The wish is taken back and the reason stands on the release, in words for the maker.</summary>
    public sealed record Stopped(string Reason, Exception? Fault = null) : SealReleaseOutcome;

    /// <summary>The disk refused to write. The wish stands and the sweep tries again; the reason stands on the release meanwhile.</summary>
    public sealed record PutOff(string Reason, Exception Fault) : SealReleaseOutcome;
}

/// <summary>
/// Seals a release whose maker asked for it: makes the recipe of its archive, stores it, and freezes the release in one
/// transaction. A release that is sealed already answers with the archive it has, so a second run after a crash goes on.
/// </summary>
public sealed class SealRelease(ShelfDb db, IBlobStore blobs, TimeProvider clock, KnownFacts? known = null)
{
    public async Task<SealReleaseOutcome> RunAsync(long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.Include(r => r.Library).Include(r => r.Players)
            .FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new SealReleaseOutcome.NothingToDo();
        if (release.IsSealed)
            return await SealedBeforeAsync(release, cancellationToken);
        if (release.SealAskedAt is null)
            return new SealReleaseOutcome.NothingToDo();
        var name = $"{release.Library.Title} {release.Number}";
        try
        {
            return await SealAsync(release, cancellationToken);
        }
        catch (DbUpdateConcurrencyException)
        {
            // Someone changed the release meanwhile. The wish still stands on the row, so the sweep wakes us with fresh eyes.
            return new SealReleaseOutcome.NothingToDo();
        }
        catch (RecipeException e)
        {
            return await StopAsync(releaseId, T($"{name} could not be sealed: {e.Message} Nothing was changed."), cancellationToken, e);
        }
        catch (Exception e) when (DiskTrouble.WordsOf(e) is { } words)
        {
            return await PutOffAsync(releaseId, name, words, e, cancellationToken);
        }
        catch (IOException e)
        {
            return await StopAsync(releaseId,
                T($"{name} could not be sealed: the shelf could not read a stored file. Nothing was changed. Check the folder again; if it stops again, look at the shelf’s disk and its log."),
                cancellationToken, e);
        }
    }

    private async Task<SealReleaseOutcome> SealAsync(Release release, CancellationToken cancellationToken)
    {
        var readiness = await SealReadiness.LookAsync(db, release, cancellationToken);
        if (!readiness.IsReady)
            return await StopAsync(release.Id, T($"Not ready to seal: {string.Join(' ', readiness.Reasons)}"), cancellationToken);

        await TakeShopLicenceAsync(release, cancellationToken);
        var now = clock.GetUtcNow();
        var input = await SealInput.GatherAsync(db, release, now, cancellationToken);
        if (input is null)
            return await StopAsync(release.Id, T("A file of the folder is not in the store. Send the folder again."), cancellationToken);
        var recipe = FullArchive.Build(input);
        await StoreRecipeAsync(recipe, now, cancellationToken);

        var archive = new Archive
        {
            ReleaseId = release.Id, Kind = ArchiveKind.Full, RecipeSha256 = recipe.Sha256, Length = new ArchiveLayout(recipe).Length,
            FileName = FullArchive.FileName(input.Title, input.Number), CreatedAt = now,
        };
        db.Archives.Add(archive);
        db.SealedKeyprints.Add(SealedKeyprint.Of(release.Id, await SealedKeyprint.MakeAsync(db, release.Id, known, cancellationToken)));
        release.Trouble = null;
        release.Library.FolderName ??= recipe.TopFolder;
        release.MoveTo(ReleaseState.Sealed, now);
        await db.SaveChangesAsync(cancellationToken);
        return new SealReleaseOutcome.Sealed(archive.Id, release.PublishAfterSealFor);
    }

    private async Task<SealReleaseOutcome> SealedBeforeAsync(Release release, CancellationToken cancellationToken)
    {
        var archiveId = await db.Archives.Where(a => a.ReleaseId == release.Id && a.Kind == ArchiveKind.Full)
            .Select(a => a.Id).SingleAsync(cancellationToken);
        return new SealReleaseOutcome.Sealed(archiveId, release.State == ReleaseState.Sealed ? release.PublishAfterSealFor : null);
    }

    /// <summary>A release that names no licence is frozen with the shop's as it reads today.</summary>
    private async Task TakeShopLicenceAsync(Release release, CancellationToken cancellationToken)
    {
        if (release.LicenceSpdx is not null || release.LicenceText.Length > 0)
            return;
        var shop = await db.Shops.Select(s => new { s.Licence, s.LicenceInShort }).SingleAsync(cancellationToken);
        (release.LicenceText, release.LicenceInShort) = (shop.Licence, shop.LicenceInShort);
    }

    /// <summary>The recipe becomes a blob before the transaction: bytes without a row are harmless, a row without bytes is not.</summary>
    private async Task StoreRecipeAsync(Recipe recipe, DateTimeOffset now, CancellationToken cancellationToken)
    {
        using var bytes = new MemoryStream(recipe.CanonicalBytes.ToArray(), writable: false);
        var stored = await blobs.PutAsync(bytes, cancellationToken);
        await BlobRows.RecordAsync(db, [stored], now, cancellationToken);
    }

    private async Task<SealReleaseOutcome> PutOffAsync(long releaseId, string name, string what, Exception fault, CancellationToken cancellationToken)
    {
        var reason = T($"{name} is not sealed yet: {what} Nothing was changed. It is tried again each minute by itself.");
        db.ChangeTracker.Clear();
        await db.Releases.Where(r => r.Id == releaseId && r.SealedAt == null)
            .ExecuteUpdateAsync(r => r.SetProperty(x => x.Trouble, reason), cancellationToken);
        return new SealReleaseOutcome.PutOff(reason, fault);
    }

    private async Task<SealReleaseOutcome> StopAsync(long releaseId, string reason, CancellationToken cancellationToken, Exception? fault = null)
    {
        db.ChangeTracker.Clear();
        await db.Releases.Where(r => r.Id == releaseId && r.SealedAt == null).ExecuteUpdateAsync(r => r
            .SetProperty(x => x.SealAskedAt, (DateTimeOffset?)null)
            .SetProperty(x => x.PublishAfterSealFor, (Audience?)null)
            .SetProperty(x => x.Trouble, reason)
            .SetProperty(x => x.Revision, x => x.Revision + 1), cancellationToken);
        return new SealReleaseOutcome.Stopped(reason, fault);
    }
}
