using System.Formats.Tar;

namespace LibraryShelf.Cli.Folders;

/// <summary>Pipes, sockets and devices that lie in a folder beside its files: opening a pipe would wait for ever.</summary>
internal static class SpecialFiles
{
    // The kind of an entry in a tar header: '0' is a plain file (POSIX.1-2017, pax, "ustar Interchange Format": typeflag).
    private const int KindAt = 156;

    /// <summary>
    /// True when <paramref name="file"/>, whose length is 0, is no plain file. The platform's one public way to learn a file's kind
    /// without opening it is to have its tar header written; a special file's length is always 0, so few are asked about.
    /// </summary>
    public static bool IsSpecial(FileInfo file)
    {
        if (OperatingSystem.IsWindows())
            return false;
        using var header = new MemoryStream();
        try
        {
            using (var tar = new TarWriter(header, TarEntryFormat.Ustar, leaveOpen: true))
                tar.WriteEntry(file.FullName, "x");
            return header.GetBuffer()[KindAt] != (byte)'0';
        }
        catch (IOException)
        {
            // What tar can't hold is a socket.
            return true;
        }
    }
}
