using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>Changes a library's words and paint. Its address and, once a release is sealed, its folder in archives stay as they are.</summary>
public sealed class EditLibrary(ShelfDb db, TimeProvider clock)
{
    public Task<EditOutcome> RunAsync(string slug, LibraryWords words, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<EditOutcome>(db, () => EditAsync(slug, words, cancellationToken), () => new EditOutcome.ChangedMeanwhile());

    private async Task<EditOutcome> EditAsync(string slug, LibraryWords words, CancellationToken cancellationToken)
    {
        var library = await db.Libraries.FirstOrDefaultAsync(l => l.Slug == slug, cancellationToken);
        if (library is null)
            return new EditOutcome.Missing();
        words = words.Tidied();
        if (words.Refusals() is { Count: > 0 } refusals)
            return new EditOutcome.Refused(refusals);
        if (words.FilledFrom is { } filledFrom && LibraryWords.Of(library).Mark() is var mark && mark != filledFrom && mark != words.Mark())
            return new EditOutcome.ChangedMeanwhile();

        library.Title = words.Title;
        library.Sentence = words.Sentence;
        library.Description = words.Description;
        library.Sound = words.Sound;
        if (library.IsPitched != words.IsPitched)
        {
            await ForgetVerdictsAsync(library.Id, cancellationToken);
            await AgeListeningsAsync(library.Id, cancellationToken);
        }
        library.IsPitched = words.IsPitched;
        library.Paint = words.Paint ?? library.Paint;
        library.WordsChangedAt = clock.GetUtcNow();
        library.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        return new EditOutcome.Saved();
    }

    /// <summary>A check judges pitched and unpitched libraries differently, so an open release must be checked anew.</summary>
    private async Task ForgetVerdictsAsync(long libraryId, CancellationToken cancellationToken)
    {
        foreach (var open in await db.Releases.Where(r => r.LibraryId == libraryId && r.SealedAt == null).ToListAsync(cancellationToken))
            DraftContents.Changed(open, clock.GetUtcNow());
    }

    /// <summary>Of a kit no key stands for another, so what can be heard is made anew; till then it is as it was.</summary>
    private async Task AgeListeningsAsync(long libraryId, CancellationToken cancellationToken)
    {
        foreach (var heard in await db.Listenings.Where(l => db.Releases.Any(r => r.Id == l.ReleaseId && r.LibraryId == libraryId)).ToListAsync(cancellationToken))
            heard.Generation = 0;
    }
}
