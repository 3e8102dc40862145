using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>What the shelf's list may be sorted by.</summary>
public enum ShelfSort { Published, Library, Sound, Keys, Recordings, Size, For }

/// <summary>Which boxes to show and in which order; <paramref name="Show"/> null is all of them.</summary>
public sealed record ShelfWish(Audience? Show = null, string Find = "", ShelfSort Sort = ShelfSort.Published, bool Descending = true);

/// <summary>A box on the shelf, described by its latest version (the highest number).</summary>
public sealed record ShelfBox(string Slug, string Title, string Sentence, string Sound, Paint Paint, bool IsPitched, Audience Audience, ShelfRelease Latest);

/// <summary>
/// The shelf: <paramref name="Boxes"/> as wished, and what stands on it in all. <paramref name="Sounds"/> are there to be tried when
/// nothing is found.
/// </summary>
public sealed record ShelfList(IReadOnlyList<ShelfBox> Boxes, int All, int Free, int Members, IReadOnlyList<string> Sounds);

/// <summary>Reads the shelf: libraries with a published version and a decision about who they are for.</summary>
public sealed class ReadShelf(ShelfDb db, TimeProvider clock)
{
    public async Task<ShelfList> RunAsync(ShelfWish wish, CancellationToken cancellationToken)
    {
        var boxes = await LoadAsync(cancellationToken);
        return new ShelfList(
            [.. Sorted(boxes.Where(b => Matches(b, wish)), wish)],
            boxes.Count,
            boxes.Count(b => b.Audience == Audience.Free),
            boxes.Count(b => b.Audience == Audience.Members),
            [.. boxes.Select(b => b.Sound).Where(s => s.Length > 0).Distinct(StringComparer.OrdinalIgnoreCase).Order(StringComparer.OrdinalIgnoreCase)]);
    }

    private async Task<List<ShelfBox>> LoadAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var releases = await PublishedReleases.LoadAsync(db, libraryId: null, cancellationToken);
        var libraries = await db.Libraries.AsNoTracking().Include(l => l.Audiences).ToListAsync(cancellationToken);
        return
        [
            .. from library in libraries
               let audience = library.AudienceAt(now)
               let latest = releases[library.Id].FirstOrDefault()
               where audience is not null && latest is not null
               select new ShelfBox(library.Slug, library.Title, library.Sentence, library.Sound, library.Paint, library.IsPitched, audience.Value, latest),
        ];
    }

    private static bool Matches(ShelfBox box, ShelfWish wish) =>
        (wish.Show is null || box.Audience == wish.Show)
        && wish.Find.Split(' ', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries)
            .All(word => box.Title.Contains(word, StringComparison.OrdinalIgnoreCase) || box.Sound.Contains(word, StringComparison.OrdinalIgnoreCase));

    private static IOrderedEnumerable<ShelfBox> Sorted(IEnumerable<ShelfBox> boxes, ShelfWish wish)
    {
        var sorted = wish.Sort switch
        {
            ShelfSort.Library => By(b => b.Title, StringComparer.OrdinalIgnoreCase),
            ShelfSort.Sound => By(b => b.Sound, StringComparer.OrdinalIgnoreCase),
            ShelfSort.Keys => By(b => b.Latest.Row.Keys),
            ShelfSort.Recordings => By(b => b.Latest.Row.Recordings),
            ShelfSort.Size => By(b => b.Latest.Size),
            ShelfSort.For => By(b => b.Audience),
            _ => By(b => b.Latest.PublishedAt),
        };
        return sorted.ThenByDescending(b => b.Latest.PublishedAt).ThenBy(b => b.Title, StringComparer.OrdinalIgnoreCase);

        IOrderedEnumerable<ShelfBox> By<TKey>(Func<ShelfBox, TKey> key, IComparer<TKey>? comparer = null) =>
            wish.Descending ? boxes.OrderByDescending(key, comparer) : boxes.OrderBy(key, comparer);
    }
}
