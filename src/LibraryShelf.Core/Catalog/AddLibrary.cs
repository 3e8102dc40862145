using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

public abstract record AddLibraryOutcome
{
    private AddLibraryOutcome() { }

    public sealed record Added(long LibraryId, string Slug) : AddLibraryOutcome;

    /// <summary>Nothing was added; each refusal names a field of <see cref="LibraryWords"/>, or "Slug".</summary>
    public sealed record Refused(IReadOnlyList<Refusal> Refusals) : AddLibraryOutcome;
}

/// <summary>Adds a library to the shelf, without a release yet: it shows at the workbench only.</summary>
public sealed class AddLibrary(ShelfDb db, TimeProvider clock)
{
    public const string SlugField = "Slug";

    /// <summary>
    /// Adds it under <paramref name="slug"/>, or under the slug its title gives when that is null or empty. Without a chosen
    /// paint it gets the one after the last added library's, so that neighbours differ.
    /// </summary>
    public Task<AddLibraryOutcome> RunAsync(LibraryWords words, string? slug, CancellationToken cancellationToken) =>
        // A row added has no revision to meet another at: a slug taken at this moment is found by looking again.
        FreshEyes.LookAsync(db, () => AddAsync(words, slug, cancellationToken), FreshEyes.Never<AddLibraryOutcome>);

    private async Task<AddLibraryOutcome> AddAsync(LibraryWords words, string? slug, CancellationToken cancellationToken)
    {
        words = words.Tidied();
        var name = string.IsNullOrWhiteSpace(slug) ? Slugs.FromTitle(words.Title) : slug.Trim();
        var refusals = words.Refusals();
        refusals.AddRange(await SlugRefusalsAsync(name, words, cancellationToken));
        if (refusals.Count > 0)
            return new AddLibraryOutcome.Refused(refusals);

        var library = new Library
        {
            Slug = name, Title = words.Title, Sentence = words.Sentence, Description = words.Description, Sound = words.Sound,
            IsPitched = words.IsPitched, Paint = words.Paint ?? await NextPaintAsync(cancellationToken),
            CreatedAt = clock.GetUtcNow(),
        };
        db.Libraries.Add(library);
        await db.SaveChangesAsync(cancellationToken);
        return new AddLibraryOutcome.Added(library.Id, library.Slug);
    }

    private async Task<List<Refusal>> SlugRefusalsAsync(string slug, LibraryWords words, CancellationToken cancellationToken)
    {
        if (slug.Length == 0)
            return words.Title.Length == 0 ? [] :
                [new(SlugField, T("This title has no letter from a to z and no digit, so type an address for it, such as jam-jars."))];
        if (!Slugs.IsSlug(slug))
            return [new(SlugField,
                T($"An address is up to {Slugs.MaxLength} small letters a to z, digits and single hyphens, such as jam-jars, and not “new”."))];
        var taken = await db.Libraries.Where(l => l.Slug == slug).Select(l => l.Title).FirstOrDefaultAsync(cancellationToken);
        return taken is null ? [] :
            [new(SlugField, T($"“{taken}” already has the address {slug}. Type another address, or start a new version of that library."))];
    }

    private async Task<Paint> NextPaintAsync(CancellationToken cancellationToken)
    {
        var last = await db.Libraries.OrderByDescending(l => l.Id).Select(l => (Paint?)l.Paint).FirstOrDefaultAsync(cancellationToken);
        return last is null ? default : (Paint)(((int)last.Value + 1) % Enum.GetValues<Paint>().Length);
    }
}
