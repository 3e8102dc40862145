namespace LibraryShelf.Web.Setup.Demo;

internal enum DemoFolderState
{
    /// <summary>Filled and whole: use it as it is.</summary>
    Ready,
    /// <summary>Empty now, and ours to fill.</summary>
    ToFill,
    /// <summary>It holds something and no marker of the practice shop: it is left alone.</summary>
    NotOurs,
    /// <summary>Another start is filling it at this moment.</summary>
    Busy,
}

/// <summary>
/// The practice shop's data directory. A marker file says that it is one, and whether its filling was finished: a start that was
/// killed half-way is begun anew. Nothing is ever deleted from a directory without that marker.
/// </summary>
internal sealed class DemoFolder : IDisposable
{
    public const string MarkerName = "practice-shop.txt";
    private const string Unfinished = "A practice shop of LibraryShelf, being filled. Everything in this folder may be deleted.\n";
    private const string Finished = "A practice shop of LibraryShelf, ready. Everything in this folder may be deleted.\n";

    private readonly string _root;
    private FileStream? _marker;

    private DemoFolder(string root) => _root = root;

    public DemoFolderState State { get; private init; }

    private string MarkerFile => Path.Combine(_root, MarkerName);

    /// <summary>Looks at the directory, and empties it when it is an unfinished practice shop's.</summary>
    public static DemoFolder Open(string root)
    {
        var marker = Path.Combine(root, MarkerName);
        if (!File.Exists(marker) && Directory.Exists(root) && Directory.EnumerateFileSystemEntries(root).Any())
            return new DemoFolder(root) { State = DemoFolderState.NotOurs };
        Directory.CreateDirectory(root);
        if (TryHold(marker) is not { } held)
            return new DemoFolder(root) { State = DemoFolderState.Busy };
        if (Read(held) == Finished)
        {
            held.Dispose();
            return new DemoFolder(root) { State = DemoFolderState.Ready };
        }
        var folder = new DemoFolder(root) { State = DemoFolderState.ToFill, _marker = held };
        folder.Write(Unfinished);
        folder.Empty();
        return folder;
    }

    /// <summary>The last act of filling: from here on the next start uses what is there.</summary>
    public void Finish()
    {
        if (_marker is not null)
            Write(Finished);
        Dispose();
    }

    public void Dispose()
    {
        _marker?.Dispose();
        _marker = null;
    }

    private static FileStream? TryHold(string marker)
    {
        try
        {
            return new FileStream(marker, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
        }
        catch (IOException)
        {
            return null;
        }
    }

    private static string Read(FileStream marker)
    {
        using var reader = new StreamReader(marker, leaveOpen: true);
        return reader.ReadToEnd();
    }

    private void Write(string text)
    {
        _marker!.SetLength(0);
        _marker.Write(System.Text.Encoding.UTF8.GetBytes(text));
        _marker.Flush(flushToDisk: true);
    }

    private void Empty()
    {
        foreach (var file in Directory.EnumerateFiles(_root).Where(f => f != MarkerFile))
            File.Delete(file);
        foreach (var folder in Directory.EnumerateDirectories(_root))
            Directory.Delete(folder, recursive: true);
    }
}
