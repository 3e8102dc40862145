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

        var warnings = Warnings(release, words).ToList();
        Write(release, words);
        await db.SaveChangesAsync(cancellationToken);
        return new EditOutcome.Saved(warnings);
    }

    private static IEnumerable<string> Warnings(Release before, ReleaseWords words)
    {
        if (words.LicenceSpdx is { } id && Licences.Warning(id) is { } warning)
            yield return warning;
        if (InShort.IsOfOtherText(words.LicenceInShort, words.LicenceText, before.LicenceInShort, before.LicenceText))
            yield return InShort.Reminder;
    }

    private void Write(Release release, ReleaseWords words)
    {
        release.Notes = words.Notes;
        release.LicenceSpdx = words.LicenceSpdx;
        release.LicenceText = words.LicenceText;
        release.LicenceInShort = words.LicenceInShort;
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
