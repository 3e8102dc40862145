namespace LibraryShelf.Core.Downloads;

/// <summary>The ids last added, at most <paramref name="most"/> of them. Not thread-safe.</summary>
internal sealed class RecentIds(int most)
{
    private readonly Dictionary<string, LinkedListNode<string>> known = new(StringComparer.Ordinal);
    private readonly LinkedList<string> order = new();

    public bool Has(string id) => known.ContainsKey(id);

    public void Add(string id)
    {
        Remove(id);
        if (known.Count == most)
            Remove(order.First!.Value);
        known[id] = order.AddLast(id);
    }

    public void Remove(string id)
    {
        if (known.Remove(id, out var node))
            order.Remove(node);
    }
}
