using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>What the shelf's list may be sorted by.</summary>
public enum ShelfSort { Published, Library, Sound, Keys, Recordings, Size, For }

/// <summary>Which boxes to show and in which order; <paramref name="Show"/> null is all of them.</summary>
public sealed record ShelfWish(Audience? Show = null, string Find = "", ShelfSort Sort = ShelfSort.Published, bool Descending = true)
{
    /// <summary>How it sounds, as the maker wrote it; "": however.</summary>
    public string Sound { get; init; } = "";

    /// <summary>How many keys; null: as many as it has.</summary>
    public KeySpan? Keys { get; init; }

    /// <summary>The whole library is no larger, 10^6 bytes; null: as large as it is.</summary>
    public int? MostMegabytes { get; init; }

    /// <summary>A player someone has, and after a space its version: "Pondskater 2.3". "": whichever.</summary>
    public string Opens { get; init; } = "";

    /// <summary>Nothing is left out.</summary>
    public bool IsForAll => Show is null && Keys is null && MostMegabytes is null && Find.Length + Sound.Length + Opens.Length == 0;
}

/// <summary>From <paramref name="From"/> to <paramref name="To"/> keys; null: no end.</summary>
public sealed record KeySpan(int From, int? To);

/// <summary>A box on the shelf, described by its latest version (the highest number).</summary>
public sealed record ShelfBox(string Slug, string Title, string Sentence, string Sound, Paint Paint, bool IsPitched, Audience Audience, ShelfRelease Latest)
{
    /// <summary>Its page has something to listen to.</summary>
    public bool IsHeard { get; init; }
}

/// <summary>The shelf: <paramref name="Boxes"/> as wished, and what stands on it in all.</summary>
/// <param name="Boxes">Those that were wished for, in the wished order.</param>
/// <param name="Others">The rest, in the same order.</param>
/// <param name="Sounds">Every way of sounding there is, from A on.</param>
/// <param name="Players">Every player that a box opens in, each with every lowest version that one asks for, from A on and the latest version first.</param>
public sealed record ShelfList(IReadOnlyList<ShelfBox> Boxes, IReadOnlyList<ShelfBox> Others, IReadOnlyList<string> Sounds, IReadOnlyList<(string Name, string Version)> Players)
{
    /// <summary>All of them, newest first by the day of the latest version.</summary>
    public IReadOnlyList<ShelfBox> NewestFirst { get; } = [.. Boxes.Concat(Others).OrderByDescending(b => b.Latest.PublishedAt).ThenBy(b => b.Title, StringComparer.OrdinalIgnoreCase)];

    public int All => NewestFirst.Count;

    public int Free => NewestFirst.Count(b => b.Audience == Audience.Free);

    public int Members => NewestFirst.Count(b => b.Audience == Audience.Members);
}

/// <summary>Reads the shelf: libraries with a published version and a decision about who they are for.</summary>
public sealed class ReadShelf(ShelfDb db, TimeProvider clock)
{
    public async Task<ShelfList> RunAsync(ShelfWish wish, CancellationToken cancellationToken)
    {
        var boxes = Sorted(await LoadAsync(cancellationToken), wish).ToLookup(b => Matches(b, wish));
        var all = boxes.SelectMany(b => b).ToList();
        return new ShelfList(
            [.. boxes[true]], [.. boxes[false]],
            [.. all.Select(b => b.Sound).Where(s => s.Length > 0).Distinct(StringComparer.OrdinalIgnoreCase).Order(StringComparer.OrdinalIgnoreCase)],
            [.. all.SelectMany(b => b.Latest.Players).Select(p => (p.Name, p.LowestVersion)).Distinct()
                .OrderBy(p => p.Name, StringComparer.OrdinalIgnoreCase).ThenByDescending(p => p.LowestVersion, OpensIn.ByVersion)]);
    }

    private async Task<List<ShelfBox>> LoadAsync(CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var releases = await PublishedReleases.LoadAsync(db, libraryId: null, cancellationToken);
        var libraries = await db.Libraries.AsNoTracking().Include(l => l.Audiences).ToListAsync(cancellationToken);
        var heard = await db.Releases.Where(r => r.State == ReleaseState.Published && (db.Listenings.Any(l => l.ReleaseId == r.Id && l.PlayableBytes > 0)
            || db.LibraryMusic.Any(m => m.LibraryId == r.LibraryId && m.OpusSha256 != null && m.Trouble == null))).Select(r => r.Id).ToHashSetAsync(cancellationToken);
        return
        [
            .. from library in libraries
               let audience = library.AudienceAt(now)
               let latest = releases[library.Id].FirstOrDefault()
               where audience is not null && latest is not null
               select new ShelfBox(library.Slug, library.Title, library.Sentence, library.Sound, library.Paint, library.IsPitched, audience.Value, latest) { IsHeard = heard.Contains(latest.Id) },
        ];
    }

    private static bool Matches(ShelfBox box, ShelfWish wish) =>
        (wish.Show is null || box.Audience == wish.Show)
        && (wish.Sound.Length == 0 || box.Sound.Equals(wish.Sound, StringComparison.OrdinalIgnoreCase))
        && (wish.Keys is not { } keys || (box.Latest.Row.Keys >= keys.From && (keys.To is null || box.Latest.Row.Keys <= keys.To)))
        && (wish.MostMegabytes is not { } most || box.Latest.Size <= most * 1_000_000L)
        && (wish.Opens.Length == 0 || box.Latest.Players.Any(p => OpensIn.IsIn(wish.Opens, p.Name, p.LowestVersion)))
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
