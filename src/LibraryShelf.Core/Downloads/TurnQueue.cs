namespace LibraryShelf.Core.Downloads;

/// <summary>Who waits for a turn, in order: who had begun and was cut off, then everybody else, each as they came. Not thread-safe.</summary>
internal sealed class TurnQueue
{
    private static readonly Comparer<Place> ByOrder = Comparer<Place>.Create((a, b) => a.Order.CompareTo(b.Order));

    private readonly List<Place> places = [];
    private readonly Dictionary<string, Place> byId = new(StringComparer.Ordinal);
    private long came;

    /// <summary>How many are before this one; before a newcomer of its kind, when it has no place.</summary>
    public int Ahead(string id, bool resumes) =>
        byId.TryGetValue(id, out var place) ? places.BinarySearch(place, ByOrder) : ~places.BinarySearch(new Place(id, resumes, long.MaxValue), ByOrder);

    public bool Has(string id) => byId.ContainsKey(id);

    /// <summary>The place is kept, or made at the end, because somebody asked just now.</summary>
    public void Keep(string id, bool resumes, DateTimeOffset now)
    {
        if (!byId.TryGetValue(id, out var place))
        {
            place = byId[id] = new Place(id, resumes, came++);
            places.Insert(~places.BinarySearch(place, ByOrder), place);
        }
        place.AskedAt = now;
    }

    public void Remove(string id)
    {
        if (byId.Remove(id, out var place))
            places.RemoveAt(places.BinarySearch(place, ByOrder));
    }

    /// <summary>The first <paramref name="free"/> have their turn from now on, those that have it already since then.</summary>
    public void Call(int free, DateTimeOffset now)
    {
        for (var i = 0; i < Math.Min(free, places.Count); i++)
            places[i].CalledAt ??= now;
    }

    /// <summary>Lets go of places not asked for since <paramref name="askedBefore"/>, and of turns not taken since <paramref name="calledBefore"/>.</summary>
    public void Lapse(DateTimeOffset askedBefore, DateTimeOffset calledBefore)
    {
        foreach (var gone in places.Where(p => p.AskedAt <= askedBefore || p.CalledAt <= calledBefore).ToList())
            Remove(gone.Id);
    }

    private sealed class Place(string id, bool resumes, long came)
    {
        public string Id => id;

        public DateTimeOffset AskedAt { get; set; }

        public DateTimeOffset? CalledAt { get; set; }

        public (bool IsNew, long Came) Order { get; } = (!resumes, came);
    }
}
