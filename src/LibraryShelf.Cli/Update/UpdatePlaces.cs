using System.Text;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Update;

/// <summary>
/// The three names an update uses beside the folder. The note is written before the first of the others and removed after the last, and is
/// held open meanwhile: who finds one that nobody holds finds what a killed update left.
/// </summary>
internal sealed class UpdatePlaces : IDisposable
{
    private const string Heading = "libraryshelf/updating/1\n";
    private readonly FileStream note;

    private UpdatePlaces(string folder, FileStream note) => (Folder, this.note) = (folder, note);

    public string Folder { get; }
    public string New => Folder + ".updating-new";
    public string Old => Folder + ".updating-old";
    private string Note => NoteOf(Folder);
    public string Parent => Path.GetDirectoryName(Folder)!;

    private static string NoteOf(string folder) => folder + ".updating-note";

    /// <summary>
    /// Takes the folder for one update, and first finishes or undoes what a killed one left. CouldNotRunException when another is at
    /// work on it, or when something of the person's has one of the names.
    /// </summary>
    public static UpdatePlaces Take(string folder)
    {
        if (Path.GetDirectoryName(folder) is null)
            throw new CouldNotRunException($"{folder} is a whole disk. Give the folder named after the library.");
        var places = new UpdatePlaces(folder, Hold(folder));
        try
        {
            places.CleanUp();
            return places;
        }
        catch
        {
            places.Dispose();
            throw;
        }
    }

    /// <summary>An update of this folder was killed, or is running.</summary>
    public static bool AreLeft(string folder) => File.Exists(NoteOf(folder));

    private static FileStream Hold(string folder)
    {
        try
        {
            return new FileStream(NoteOf(folder), FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
        }
        catch (IOException e) when (File.Exists(NoteOf(folder)))
        {
            throw new CouldNotRunException($"another `shelf update` is at work on {folder}. Wait until it is done.", e);
        }
    }

    private void CleanUp()
    {
        using var reader = new StreamReader(note, Encoding.UTF8, leaveOpen: true);
        var written = reader.ReadToEnd();
        if (written != Heading)
        {
            // Empty, or cut short by a kill: nothing was begun. Anything else is a person's file.
            if (!Heading.StartsWith(written, StringComparison.Ordinal))
                throw new CouldNotRunException($"{Note} is in the way and not ours. Move it away, then update again.");
            if (Directory.Exists(New) || Directory.Exists(Old))
            {
                Forget();
                throw new CouldNotRunException($"{(Directory.Exists(New) ? New : Old)} is in the way and not ours. Move it away, then update again.");
            }
            note.SetLength(0);
            note.Write(Encoding.UTF8.GetBytes(Heading));
            note.Flush(flushToDisk: true);
            SystemCalls.FlushFolder(Parent);
            return;
        }
        // The new folder takes the name away from the old one, so all three stand only when somebody made the folder anew after a kill between
        // two renames: the old one then holds what is nowhere else.
        if (Directory.Exists(Folder) && Directory.Exists(New) && Directory.Exists(Old))
            throw new CouldNotRunException(
                $"an update was cut off, and {Folder} was made anew since. Your folder as it was is {Old}. Nothing was touched. Keep of the two what you need at {Folder}, remove {Old} and {New}, then update again.");
        // Killed between two renames, where names can't be exchanged at once: the old folder goes back.
        if (!Directory.Exists(Folder) && Directory.Exists(Old))
            Directory.Move(Old, Folder);
        Remove(New);
        Remove(Old);
    }

    /// <summary>Puts the new folder where the old one is; the old one is then at one of the other two names.</summary>
    public void Exchange(bool atOnce, Action betweenRenames)
    {
        if (!atOnce || !SystemCalls.TryExchange(New, Folder))
        {
            Directory.Move(Folder, Old);
            betweenRenames();
            try
            {
                Directory.Move(New, Folder);
            }
            catch (Exception e) when (e is IOException or UnauthorizedAccessException)
            {
                Directory.Move(Old, Folder);
                throw;
            }
        }
        SystemCalls.FlushFolder(Parent);
    }

    /// <summary>Removes everything but the folder itself.</summary>
    public void Tidy()
    {
        Remove(New);
        Remove(Old);
        Forget();
    }

    public void Dispose() => note.Dispose();

    private void Forget() => File.Delete(Note);

    private static void Remove(string folder)
    {
        if (!Directory.Exists(folder))
            return;
        // What lies in a folder that may not be written to can't be deleted.
        if (!OperatingSystem.IsWindows())
        {
            foreach (var inner in Directory.EnumerateDirectories(folder, "*", UpdateFolder.Everything).Append(folder).ToList())
                File.SetUnixFileMode(inner, File.GetUnixFileMode(inner) | UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute);
        }
        Directory.Delete(folder, recursive: true);
    }
}
