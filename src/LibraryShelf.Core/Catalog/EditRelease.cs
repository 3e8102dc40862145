using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>Writes an unsealed release's notes, licence, credits and players.</summary>
public sealed class EditRelease(ShelfDb db)
{
    public Task<EditOutcome> RunAsync(long releaseId, ReleaseWords words, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<EditOutcome>(db, () => EditAsync(releaseId, words, cancellationToken), () => new EditOutcome.ChangedMeanwhile());

    private async Task<EditOutcome> EditAsync(long releaseId, ReleaseWords words, CancellationToken cancellationToken)
    {
        var release = await db.Releases.Include(r => r.Players).FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new EditOutcome.Missing();
        if (OpenRelease.Refuse(release) is { } frozen)
            return new EditOutcome.Refused(frozen);
        words = words.Tidied();
        if (words.Refusals() is { Count: > 0 } refusals)
            return new EditOutcome.Refused(refusals);
        if (words.FilledFrom is { } filledFrom && ReleaseWords.Of(release).Mark() is var mark && mark != filledFrom && mark != words.Mark())
            return new EditOutcome.ChangedMeanwhile();

        var players = PlayersOf(release);
        Write(release, words);
        // What it opens in is part of what changed: a comparison made before is wished for anew, and made by the sweep or, at the latest, by the
        // sealing. Before the words, because one made once too often does no harm.
        if (!players.SequenceEqual(PlayersOf(release)))
            await db.ReleaseComparisons.Where(c => c.ReleaseId == releaseId && c.ComparedAt != null)
                .ExecuteUpdateAsync(s => s.SetProperty(c => c.AskedAt, c => c.ComparedAt), cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        return new EditOutcome.Saved(words.LicenceSpdx is { } id && Licences.Warning(id) is { } warning ? [warning] : []);
    }

    private static List<(string, string)> PlayersOf(Release release) =>
        [.. release.Players.OrderBy(p => p.Order).Select(p => (p.Name, p.LowestVersion))];

    private void Write(Release release, ReleaseWords words)
    {
        release.Notes = words.Notes;
        release.LicenceSpdx = words.LicenceSpdx;
        release.LicenceText = words.LicenceText;
        release.Credits = words.Credits;
        db.RemoveRange(release.Players);
        release.Players.Clear();
        release.Players.AddRange(words.Players.Where(p => !p.IsEmpty).Select((p, order) => new ReleasePlayer
        {
            Name = p.Name, LowestVersion = p.LowestVersion, HowToInstall = p.HowToInstall, Order = order,
        }));
        // A sealing that read the old words collides on the revision instead of freezing them.
        release.Revision++;
    }
}
