using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>A version as news. <paramref name="WithdrawnAt"/> is null while it stands on the shelf.</summary>
public sealed record FeedEntry(
    Guid Id, string Slug, string Library, string Number, string Notes, DateTimeOffset PublishedAt, DateTimeOffset? WithdrawnAt, string WithdrawnBecause)
{
    public DateTimeOffset UpdatedAt => WithdrawnAt ?? PublishedAt;
}

/// <summary>
/// News of the shelf or of one box, what was last published or withdrawn first. Ids follow from rows that never change, so they outlive a change of address,
/// title or shop name. <paramref name="Box"/> is null for the whole shelf. <paramref name="UpdatedAt"/>: the last news;
/// <paramref name="ChangedAt"/>: when anything it says last changed, titles and the shop's name too.
/// </summary>
public sealed record Feed(Guid Id, string Shop, string? Box, DateTimeOffset UpdatedAt, DateTimeOffset ChangedAt, IReadOnlyList<FeedEntry> Entries);

/// <summary>Reads the news of what was published and withdrawn; of what members have too, for its coming is no secret. Null when no such box is on the shelf.</summary>
public sealed class ReadFeed(ShelfDb db, TimeProvider clock)
{
    /// <summary>Entries told; who comes later reads the shelf.</summary>
    public const int Most = 50;

    /// <param name="slug">Null: the whole shelf.</param>
    public async Task<Feed?> RunAsync(string? slug, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var shop = await db.Shops.AsNoTracking().Where(s => s.Id == Shop.OnlyId).Select(s => new { s.Name, s.ClaimedAt, s.WordsChangedAt }).SingleOrDefaultAsync(cancellationToken);
        var rows = await db.Releases.AsNoTracking().Include(r => r.Library)
            .Where(r => r.PublishedAt != null && (r.State == ReleaseState.Published || r.State == ReleaseState.Withdrawn)
                && (slug == null || r.Library.Slug == slug) && r.Library.Audiences.Any(a => a.DecidedAt <= now))
            .OrderByDescending(r => r.WithdrawnAt ?? r.PublishedAt).ThenByDescending(r => r.Id).Take(Most).ToListAsync(cancellationToken);
        if (slug is not null && rows.Count == 0)
            return null;
        var claimed = shop?.ClaimedAt ?? DateTimeOffset.UnixEpoch;
        var entries = rows.ConvertAll(r => EntryOf(r, claimed));
        var box = slug is null ? null : rows[0].Library;
        var updated = entries.Count == 0 ? claimed : entries.Max(e => e.UpdatedAt);
        var changed = rows.Select(r => r.Library.WordsChangedAt).Append(shop?.WordsChangedAt).Append(updated).Max() ?? updated;
        return new Feed(box is null ? IdOf("shop", claimed, 0, claimed) : IdOf("library", claimed, box.Id, box.CreatedAt),
            shop?.Name ?? ShopFront.Unclaimed.Name, box?.Title, updated, changed, entries);
    }

    private static FeedEntry EntryOf(Release release, DateTimeOffset claimed)
    {
        var isWithdrawn = release.State == ReleaseState.Withdrawn;
        return new FeedEntry(IdOf("release", claimed, release.Id, release.CreatedAt), release.Library.Slug, release.Library.Title, release.Number, release.Notes,
            release.PublishedAt!.Value, isWithdrawn ? release.WithdrawnAt : null, isWithdrawn ? release.WithdrawnBecause : "");
    }

    /// <summary>A UUID of version 8 from a hash (RFC 9562 §5.8): the row's id alone would be the same on every shelf.</summary>
    private static Guid IdOf(string kind, DateTimeOffset claimed, long id, DateTimeOffset created)
    {
        var name = $"libraryshelf {kind} {claimed.ToUnixTimeMilliseconds()} {id} {created.ToUnixTimeMilliseconds()}";
        var bytes = SHA256.HashData(Encoding.UTF8.GetBytes(name)).AsSpan(0, 16);
        bytes[6] = (byte)((bytes[6] & 0x0F) | 0x80);
        bytes[8] = (byte)((bytes[8] & 0x3F) | 0x80);
        return new Guid(bytes, bigEndian: true);
    }
}
