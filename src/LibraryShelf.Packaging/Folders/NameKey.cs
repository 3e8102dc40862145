namespace LibraryShelf.Packaging.Folders;

/// <summary>
/// What a path comes to on a system that ignores case and the way accents are spelled: two paths with one key can't stand in the
/// same folder on Windows or macOS. Case is folded letter by letter, as NTFS does (so ß and SS differ).
/// </summary>
public static class NameKey
{
    public static string Of(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        // Folding once more after decomposing catches letters whose capital decomposes otherwise.
        return UnicodeForms.Decompose(UnicodeForms.Decompose(path).ToUpperInvariant().ToLowerInvariant());
    }
}
