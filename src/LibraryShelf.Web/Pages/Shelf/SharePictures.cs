using System.Collections.Concurrent;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>Share pictures that were asked for lately, some tens of kilobytes each: who shows a link is followed by many programs that fetch its picture at once. Thread-safe.</summary>
internal sealed class SharePictures
{
    private const int Most = 100;

    private readonly ConcurrentDictionary<string, Lazy<byte[]>> _drawn = new(StringComparer.Ordinal);

    /// <param name="version">Has a picture.</param>
    /// <param name="words">On it.</param>
    /// <param name="address">Says all that the picture depends on.</param>
    public byte[] Of(VersionKeyprint version, ShareWords words, string address) =>
        Of(address, () => SharePicture.Of(version.Print, PaintColours.Of(version.Paint), words));

    /// <param name="address">Says all that the picture depends on.</param>
    /// <param name="draw">Makes it, once.</param>
    public byte[] Of(string address, Func<byte[]> draw)
    {
        if (_drawn.Count >= Most)
            _drawn.Clear();
        return _drawn.GetOrAdd(address, _ => new Lazy<byte[]>(draw)).Value;
    }

    public static ShareWords WordsOf(VersionKeyprint version, string shop) =>
        new(version.Title, $"{(version.Keys > 0 ? Plural.Of(version.Keys, "key") + ", " : "")}{Plural.Of(version.Recordings, "recording")}", shop);
}
