using System.Text.Json;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Folders;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

/// <summary>Puts the drafted changes before whatever the release's notes say, to be edited there. What was written is never dropped.</summary>
public sealed class TakeDraftedChanges(ShelfDb db)
{
    public Task<EditOutcome> RunAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<EditOutcome>(db, () => TakeAsync(releaseId, fromReleaseId, cancellationToken), () => new EditOutcome.ChangedMeanwhile());

    private async Task<EditOutcome> TakeAsync(long releaseId, long fromReleaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.Include(r => r.Library).FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null || await CurrentComparison.RowAsync(db, releaseId, fromReleaseId, cancellationToken) is not ({ Outcome.Length: > 0 } row, true))
            return new EditOutcome.Missing();
        if (OpenRelease.Refuse(release) is { } frozen)
            return new EditOutcome.Refused(frozen);
        var limits = LimitsText.TryRead(release.Library.Limits, out var read, out _) ? read : LibraryLimits.Default;
        var outcome = JsonSerializer.Deserialize<CompareJson>(row.Outcome, ComparisonReading.Json)!;
        var drafted = DraftedChanges.Write(outcome.ToComparison(), new NoteNaming(limits.MiddleCOctave)).Trim();
        // Pressed twice, it is there once.
        if (release.Notes.Contains(drafted, StringComparison.Ordinal))
            return new EditOutcome.Saved();
        // The draft taken before speaks of a folder that is gone: where nobody edited it, this one takes its place.
        var notes = release.Notes.Length == 0 ? drafted
            : release.TakenDraft.Length > 0 && release.Notes.Contains(release.TakenDraft, StringComparison.Ordinal) ? release.Notes.Replace(release.TakenDraft, drafted, StringComparison.Ordinal)
            : $"{drafted}\n\n{release.Notes}";
        if (notes.Length > ReleaseWords.MaxNotes)
            return new EditOutcome.Refused(new Refusal("", T($"Together with what the notes say it would be {notes.Length} characters; {ReleaseWords.MaxNotes} is the most. Nothing was changed.")));
        (release.Notes, release.TakenDraft) = (notes, drafted);
        release.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        return new EditOutcome.Saved();
    }
}
