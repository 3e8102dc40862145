namespace LibraryShelf.Core.Shared;

/// <summary>The layout of the data directory.</summary>
public sealed class DataPaths(string root)
{
    public string Root { get; } = Path.GetFullPath(root);
    public string Database => Path.Combine(Root, "shelf.db");
    public string Blobs => Path.Combine(Root, "blobs");
    public string Uploads => Path.Combine(Root, "uploads");
    public string Outbox => Path.Combine(Root, "outbox");
    /// <summary>Where a backup is put together before it takes its place; there only while that is under way, or was cut off.</summary>
    public string Restoring => Path.Combine(Root, "restoring");
}
