namespace LibraryShelf.Web.Setup.Demo.Folders;

/// <summary>Note names in file names: flats, because a sharp sign is not portable in one; C4 = 60.</summary>
internal static class NoteNames
{
    private static readonly string[] Names = ["C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"];

    public static string Of(int key) => $"{Names[key % 12]}{(key / 12) - 1}";
}
