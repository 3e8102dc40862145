using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing;

/// <summary>A release at the door of sealing: what it comes to, and every reason that still holds it up, in words for the maker.</summary>
public sealed record Readiness(int MustFix, int Excused, IReadOnlyList<string> Reasons)
{
    public bool IsReady => Reasons.Count == 0;
}

/// <summary>The one place that says whether a release may be sealed; asking and sealing both come here.</summary>
internal static class SealReadiness
{
    /// <summary>Looks at the release (its players loaded), its check sheet and its files as they are now.</summary>
    public static async Task<Readiness> LookAsync(ShelfDb db, Release release, CancellationToken cancellationToken)
    {
        var entries = await db.SheetEntries.Where(e => e.ReleaseId == release.Id).ToListAsync(cancellationToken);
        var mustFix = entries.Count(e => e.BlocksSealing);
        var reasons = new List<string>();
        if (await FolderReasonAsync(db, release, cancellationToken) is { } folder)
            reasons.Add(folder);
        if (mustFix > 0)
            reasons.Add(mustFix == 1
                ? T("Put right or excuse the one must-fix entry first.")
                : T($"Put right or excuse the {mustFix} must-fix entries first."));
        if (release.Players.Count == 0)
            reasons.Add(T("Name at least one player it opens in, with the lowest version, under Words."));
        if (!await HasLicenceAsync(db, release, cancellationToken))
            reasons.Add(T("Choose a licence under Words, or write the shop’s licence for the recordings."));
        if (CurrentComparison.NumberReason(release.Number, release.WhySmallerNumber, release.WhySmallerThan, await CurrentComparison.OfAsync(db, release, cancellationToken)) is { } number)
            reasons.Add(number);
        return new Readiness(mustFix, entries.Count(e => e.ExcuseReason is not null), reasons);
    }

    private static async Task<string?> FolderReasonAsync(ShelfDb db, Release release, CancellationToken cancellationToken)
    {
        var files = db.ReleaseFiles.Where(f => f.ReleaseId == release.Id);
        if (!await files.AnyAsync(cancellationToken))
            return T("The folder is empty: send the recordings and their mapping first.");
        var missing = await files.CountAsync(f => !db.Blobs.Any(b => b.Sha256 == f.Sha256), cancellationToken);
        if (missing > 0)
            return missing == 1 ? T("One file of the folder is still on its way.") : T($"{missing} files of the folder are still on their way.");
        if (release.State == ReleaseState.Checked)
            return null;
        return release.CheckAskedAt is null
            ? T("The folder has not been checked since it last changed. Check it first.")
            : T("The folder is being checked just now.");
    }

    private static async Task<bool> HasLicenceAsync(ShelfDb db, Release release, CancellationToken cancellationToken) =>
        release.LicenceSpdx is not null || release.LicenceText.Length > 0
        || await db.Shops.AnyAsync(s => s.Licence != "", cancellationToken);
}
