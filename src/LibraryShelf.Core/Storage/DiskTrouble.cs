using System.Data.Common;

namespace LibraryShelf.Core.Storage;

/// <summary>
/// Tells a disk that refuses to write (full, not allowed, failing) from every other fault, whether the file system or the
/// database met it, and says it in a sentence for the maker.
/// </summary>
public static class DiskTrouble
{
    // ENOSPC and EDQUOT of Linux (errno.h), as the platform hands them on; Windows' ERROR_DISK_FULL and ERROR_HANDLE_DISK_FULL.
    private static readonly HashSet<int> FullCodes = [28, 122, unchecked((int)0x80070070), unchecked((int)0x80070027)];

    /// <summary>The sentence; null when the disk has nothing to do with it. A file that is not there is no refusal.</summary>
    public static string? WordsOf(Exception fault)
    {
        for (var e = fault; e is not null; e = e.InnerException)
        {
            switch (e)
            {
                case FileNotFoundException or DirectoryNotFoundException or EndOfStreamException:
                    return null;
                case IOException io:
                    return FullCodes.Contains(io.HResult) ? Full : T("The shelf’s disk refused to write.");
                case UnauthorizedAccessException:
                    return NotAllowed;
                case DbException db:
                    return WordsOf(db);
            }
        }
        return null;
    }

    /// <summary>Whether the disk is full, and nothing else is the matter.</summary>
    public static bool IsFull(Exception fault) => WordsOf(fault) == Full;

    /// <summary>Does one write; answers the sentence when the disk refused it, null when it was done. Other faults pass.</summary>
    public static async Task<string?> TryAsync(Func<Task> write)
    {
        ArgumentNullException.ThrowIfNull(write);
        try
        {
            await write();
            return null;
        }
        catch (Exception e) when (WordsOf(e) is { } words)
        {
            return words;
        }
    }

    private static string Full => T("The shelf’s disk is full.");
    private static string NotAllowed => T("The shelf’s program may not write to its data folder.");

    // PostgreSQL's disk_full (Appendix A of its manual). SQLite's codes (https://www.sqlite.org/rescode.html) stand in the message
    // only, because Core knows no provider: 13 FULL, 10 IOERR (also a full disk, met while the log grows), 8 READONLY.
    private static string? WordsOf(DbException db) =>
        db.SqlState == "53100" || Says(db, 13) || Says(db, 10) ? Full
        : Says(db, 8) ? NotAllowed
        : null;

    private static bool Says(DbException db, int code) => db.Message.StartsWith($"SQLite Error {code}:", StringComparison.Ordinal);
}
