using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>Changes a library's words and paint. Its address and, once a release is sealed, its folder in archives stay as they are.</summary>
public sealed class EditLibrary(ShelfDb db)
{
    public async Task<EditOutcome> RunAsync(string slug, LibraryWords words, CancellationToken cancellationToken)
    {
        var library = await db.Libraries.FirstOrDefaultAsync(l => l.Slug == slug, cancellationToken);
        if (library is null)
            return new EditOutcome.Missing();
        words = words.Tidied();
        if (words.Refusals() is { Count: > 0 } refusals)
            return new EditOutcome.Refused(refusals);

        library.Title = words.Title;
        library.Sentence = words.Sentence;
        library.Description = words.Description;
        library.Sound = words.Sound;
        library.IsPitched = words.IsPitched;
        library.Paint = words.Paint ?? library.Paint;
        library.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        return new EditOutcome.Saved();
    }
}
