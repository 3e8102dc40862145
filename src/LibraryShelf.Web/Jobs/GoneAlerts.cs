using System.Globalization;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Settles alerts about jobs whose thing is no more: a discarded draft is never checked again, so no good end of that check would. Reads the
/// subjects that <see cref="JobName"/> writes.
/// </summary>
internal sealed class GoneAlerts(ShelfDb db, SettleAlert settle)
{
    public async Task RunAsync(CancellationToken cancellationToken)
    {
        foreach (var subject in await db.Alerts.Where(a => a.Kind == AlertKind.JobFailed && a.SettledAt == null).Select(a => a.Subject).ToListAsync(cancellationToken))
        {
            if (await IsGoneAsync(subject, cancellationToken))
                await settle.RunAsync(AlertKind.JobFailed, subject, cancellationToken);
        }
    }

    private async Task<bool> IsGoneAsync(string subject, CancellationToken cancellationToken)
    {
        var open = subject.IndexOf('(', StringComparison.Ordinal);
        if (open < 0 || !subject.EndsWith(')'))
            return false;
        var first = subject[(open + 1)..^1].Split(',')[0];
        if (subject[..open] == nameof(UnpackJob))
            return !await db.Uploads.AnyAsync(u => u.Id == first && u.UnpackedAt == null && u.Trouble == null && db.Releases.Any(r => r.Id == u.ReleaseId), cancellationToken);
        if (!long.TryParse(first, NumberStyles.None, CultureInfo.InvariantCulture, out var id))
            return false;
        return subject[..open] switch
        {
            nameof(CheckJob) => !await db.Releases.AnyAsync(r => r.Id == id && r.SealedAt == null, cancellationToken),
            nameof(CompareJob) or nameof(SealJob) or nameof(WeighJob) or nameof(TellJob) => !await db.Releases.AnyAsync(r => r.Id == id, cancellationToken),
            nameof(DigestJob) => !await db.Archives.AnyAsync(a => a.Id == id, cancellationToken),
            nameof(DropJob) => !await db.Drops.AnyAsync(d => d.Id == id, cancellationToken),
            nameof(TellAddressJob) => !await db.Users.AnyAsync(p => p.Id == id && p.DeletedAt == null, cancellationToken),
            _ => false,
        };
    }
}
