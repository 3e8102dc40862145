using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Update;

/// <summary>
/// The names an update uses beside the folder: a note (<see cref="UpdateNote"/>), written before the first of the others and removed after the
/// last, and two for folders. What lies at one of them without a note is a person's, and nothing is done then.
/// </summary>
internal sealed class UpdatePlaces : IDisposable
{
    private readonly UpdateNote note;

    private UpdatePlaces(string folder, UpdateNote note) => (Folder, this.note) = (folder, note);

    public string Folder { get; }
    public string New => Folder + ".updating-new";
    public string Old => Folder + ".updating-old";
    public string Parent => Path.GetDirectoryName(Folder)!;

    /// <summary>Folders as they were, kept under another name because something in them is nowhere else.</summary>
    public List<string> KeptAside { get; } = [];

    /// <summary>
    /// Takes the folder for one update, and first finishes or undoes what a killed one left. CouldNotRunException when another is at
    /// work on it, or when something of the person's has one of the names.
    /// </summary>
    public static UpdatePlaces Take(string folder)
    {
        if (Path.GetDirectoryName(folder) is null)
            throw new CouldNotRunException($"{folder} is a whole disk. Give the folder named after the library.");
        var places = new UpdatePlaces(folder, UpdateNote.Take(folder));
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
    public static bool AreLeft(string folder) => File.Exists(UpdateNote.PathOf(folder));

    private void CleanUp()
    {
        switch (note.Phase)
        {
            case UpdatePhase.Fresh when InTheWay(New, Old) is { } place:
                note.Remove();
                throw NotOurs(place);
            case UpdatePhase.Building when InTheWay(Old) is { } place:
                throw NotOurs(place);
            case UpdatePhase.Building:
                LeftFolder.Remove(New, () => { });
                break;
            case UpdatePhase.Exchanging:
                EndExchange();
                break;
            case UpdatePhase.Tidying:
                RemoveBoth(() => { });
                break;
            default:
                break;
        }
        note.Write(UpdatePhase.Building);
        SystemCalls.FlushFolder(Parent);
    }

    private void EndExchange()
    {
        // The new folder takes the name away from the old one, so all three stand only when somebody made the folder anew after a kill between
        // two renames: the old one then holds what is nowhere else.
        if (Directory.Exists(Folder) && Directory.Exists(New) && Directory.Exists(Old))
            throw new CouldNotRunException(
                $"an update was cut off, and {Folder} was made anew since. Your folder as it was is {Old}. Nothing was touched. Keep of the two what you need at {Folder}, remove {Old} and {New}, then update again.");
        // Killed between two renames, where names can't be exchanged at once: the old folder goes back.
        if (!Directory.Exists(Folder) && Directory.Exists(Old))
            Directory.Move(Old, Folder);
        if (!Directory.Exists(Folder))
            throw new CouldNotRunException($"an update was cut off, and {Folder} was moved away since. Nothing was touched. Put it back, or remove {New} and {UpdateNote.PathOf(Folder)}.");
        // The old or the new version, as the kill fell; the old one may hold what was saved while the names were exchanged.
        foreach (var left in ((string[])[New, Old]).Where(Directory.Exists))
        {
            if (LeftFolder.FindOnlyHere(left, Folder) is not null)
                KeptAside.Add(LeftFolder.KeepAside(left, Folder));
            else
                LeftFolder.Remove(left, () => { });
        }
    }

    /// <summary>
    /// Puts the new folder where the old one is, and answers where the old one is then. CouldNotRunException when the system refuses; the
    /// old folder is then in its place.
    /// </summary>
    public string Exchange(bool atOnce, Action betweenRenames)
    {
        note.Write(UpdatePhase.Exchanging);
        var left = New;
        if (!atOnce || !SystemCalls.TryExchange(New, Folder))
        {
            Rename(Folder, Old);
            betweenRenames();
            try
            {
                Rename(New, Folder);
            }
            catch (CouldNotRunException)
            {
                Directory.Move(Old, Folder);
                note.Write(UpdatePhase.Building);
                throw;
            }
            left = Old;
        }
        SystemCalls.FlushFolder(Parent);
        return left;
    }

    /// <summary>Keeps the folder that was exchanged under a free name, because something in it is nowhere else.</summary>
    public void KeepAsItWas(string left) => KeptAside.Add(LeftFolder.KeepAside(left, Folder));

    /// <summary>Removes everything but the folder itself. After an exchange it is no longer asked whether something of it is needed.</summary>
    /// <param name="removed">Told after each file.</param>
    public void Tidy(Action removed)
    {
        if (note.Phase == UpdatePhase.Exchanging)
            note.Write(UpdatePhase.Tidying);
        RemoveBoth(removed);
        note.Remove();
    }

    /// <summary>Gives up before the exchange; after it, what is left stays for the next run to look at.</summary>
    public void GiveUp()
    {
        if (note.Phase == UpdatePhase.Building && Directory.Exists(Folder))
            Tidy(() => { });
    }

    public void Dispose() => note.Dispose();

    private void RemoveBoth(Action removed)
    {
        LeftFolder.Remove(New, removed);
        LeftFolder.Remove(Old, removed);
    }

    private void Rename(string from, string to)
    {
        try
        {
            Directory.Move(from, to);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            if (from == Folder)
                note.Write(UpdatePhase.Building);
            throw new CouldNotRunException($"{from} can't be renamed just now: {e.Message} Perhaps a program has something in it open. Your folder is as it was. Close what uses it, then update again.", e);
        }
    }

    private static string? InTheWay(params string[] places) => Array.Find(places, LeftFolder.Stands);

    private static CouldNotRunException NotOurs(string place) => new($"{place} is in the way and not ours. Move it away, then update again.");
}
