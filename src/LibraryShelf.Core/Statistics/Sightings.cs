using System.Collections.Concurrent;
using System.Text;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Counts what is seen, in memory, until <see cref="KeepSightings"/> writes it down about once a minute: a page must not wait for the database because somebody
/// looked at it. A kill loses what was not written; a proper stop loses nothing. Thread-safe.
/// </summary>
public sealed class Sightings(TimeProvider clock)
{
    /// <summary>Different things held at most: who sends a thousand made-up names fills no memory and no table. What is beyond is counted as <see cref="Others"/>.</summary>
    public const int MostWords = 1_000;

    /// <summary>The word for all that were too many.</summary>
    public const string Others = "(others)";

    /// <summary>No zone's day begins within one: offsets are whole quarters of an hour (IANA tz database, every zone since 1972 but Monrovia's of that year).</summary>
    private static readonly TimeSpan Quarter = TimeSpan.FromMinutes(15);

    private ConcurrentDictionary<Seen, int> seen = new();

    /// <param name="Quarter">The first instant of the quarter of an hour in which it was seen.</param>
    internal sealed record Seen(DateTimeOffset Quarter, SightingKind Kind, long LibraryId, string Word);

    /// <param name="kind">What was seen.</param>
    /// <param name="libraryId">The box whose page it was; 0: the shelf, or of no matter.</param>
    /// <param name="word">See <see cref="SightingKind"/>; cut off behind <see cref="Sighting.MostLetters"/>.</param>
    public void Add(SightingKind kind, long libraryId, string word)
    {
        ArgumentNullException.ThrowIfNull(word);
        var now = clock.GetUtcNow();
        var (into, quarter) = (seen, new DateTimeOffset(now.Ticks - now.Ticks % Quarter.Ticks, TimeSpan.Zero));
        var one = new Seen(quarter, kind, libraryId, ShortText.Of(Text(word), Sighting.MostLetters));
        if (!into.ContainsKey(one) && into.Count >= MostWords)
            one = one with { Word = Others };
        into.AddOrUpdate(one, 1, (_, times) => times + 1);
    }

    /// <summary>What both databases take and give back as it was: no NUL nor any other control character, no half of a pair. Anybody may send such.</summary>
    private static string Text(string word)
    {
        var text = new StringBuilder(word.Length);
        foreach (var rune in word.EnumerateRunes())
            if (!Rune.IsControl(rune))
                text.Append(rune);
        return text.ToString();
    }

    public bool IsEmpty => seen.IsEmpty;

    /// <summary>What was seen since it was last taken. What another thread adds at this very moment to what was taken is in it or is lost: one in millions.</summary>
    internal IReadOnlyDictionary<Seen, int> Take() => Interlocked.Exchange(ref seen, new ConcurrentDictionary<Seen, int>());

    /// <summary>What could not be written is there to be taken again.</summary>
    internal void GiveBack(IEnumerable<KeyValuePair<Seen, int>> taken)
    {
        foreach (var (one, times) in taken)
            seen.AddOrUpdate(one, times, (_, more) => more + times);
    }
}
