namespace LibraryShelf.Core.Upkeep;

/// <summary>What a backup is made of; written last, so a folder without one is no backup.</summary>
/// <param name="Format">How this file is to be read: <see cref="Current"/>.</param>
/// <param name="MadeAt">Before the database was copied.</param>
/// <param name="Program">The version of the program that made it.</param>
/// <param name="Migration">The last change of the tables that its database has; a program that does not know it is older. Null: none is noted.</param>
/// <param name="Database">The copy of the database.</param>
/// <param name="Files">What else lies in the data directory.</param>
/// <param name="Blobs">SHA-256 and length of every blob the database may name; they lie in the blobs folder beside the backups.</param>
/// <param name="Missing">Blobs the database names whose bytes could not be read when it was made.</param>
/// <param name="Counts">How much it holds, for people: "people" → 31.</param>
public sealed record BackupManifest(
    int Format, DateTimeOffset MadeAt, string Program, string? Migration, BackupFile Database, IReadOnlyList<BackupFile> Files,
    IReadOnlyDictionary<string, long> Blobs, IReadOnlyList<string> Missing, IReadOnlyDictionary<string, int> Counts)
{
    public const int Current = 1;
}

/// <param name="Path">In the backup's folder.</param>
/// <param name="Bytes">Its length.</param>
/// <param name="Sha256">Lower-case hex.</param>
public sealed record BackupFile(string Path, long Bytes, string Sha256);
