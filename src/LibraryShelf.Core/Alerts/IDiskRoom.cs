namespace LibraryShelf.Core.Alerts;

/// <summary>Bytes of the volume a folder lies on: in all, and what this program may still write.</summary>
public sealed record DiskRoom(long Total, long Free);

/// <summary>How much room there is where the shelf writes.</summary>
public interface IDiskRoom
{
    /// <summary>Null when it can't be told (the folder is away, or the system does not say).</summary>
    DiskRoom? Of(string folder);
}
