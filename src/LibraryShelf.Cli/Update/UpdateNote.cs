using System.Text;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Update;

/// <summary>How far an update had come, as its note says; each is on the disk before the first act that it speaks of.</summary>
internal enum UpdatePhase { Fresh, Building, Exchanging, Tidying }

/// <summary>
/// The note beside a folder under update. It is held open meanwhile, so that one update of a folder runs at a time: who finds one that
/// nobody holds finds what a killed update left.
/// </summary>
internal sealed class UpdateNote : IDisposable
{
    private const string Heading = "libraryshelf/updating/1\n";
    private const string Exchanging = "exchanging\n";
    private const string Tidying = "tidying\n";

    /// <summary>Two updates that begin and end in the same instant may each find a note that the other has just removed.</summary>
    private const int MostTries = 5;

    private readonly string name;
    private readonly FileStream file;

    private UpdateNote(string name, FileStream file, UpdatePhase phase) => (this.name, this.file, Phase) = (name, file, phase);

    public UpdatePhase Phase { get; private set; }

    /// <summary>Windows deletes no file that is held open; elsewhere one released first could be taken by another update, and would then be deleted from under it.</summary>
    public bool ReleasesFirst { get; set; } = OperatingSystem.IsWindows();

    public static string PathOf(string folder) => folder + ".updating-note";

    /// <summary>Takes the note, making it when there is none. CouldNotRunException when another update holds it, or it is not ours.</summary>
    public static UpdateNote Take(string folder)
    {
        var path = PathOf(folder);
        var held = Hold(path, folder);
        try
        {
            using var reader = new StreamReader(held, Encoding.UTF8, leaveOpen: true);
            return new UpdateNote(path, held, PhaseIn(reader.ReadToEnd())
                ?? throw new CouldNotRunException($"{path} is in the way and not ours. Move it away, then update again."));
        }
        catch
        {
            held.Dispose();
            throw;
        }
    }

    public void Write(UpdatePhase phase)
    {
        var text = phase switch
        {
            UpdatePhase.Building => Heading,
            UpdatePhase.Exchanging => Heading + Exchanging,
            UpdatePhase.Tidying => Heading + Exchanging + Tidying,
            _ => throw new ArgumentOutOfRangeException(nameof(phase)),
        };
        // Each is the beginning of the next, so that one cut short by a kill says the one before.
        var bytes = Encoding.UTF8.GetBytes(text);
        file.Seek(0, SeekOrigin.Begin);
        file.Write(bytes);
        file.SetLength(bytes.Length);
        file.Flush(flushToDisk: true);
        Phase = phase;
    }

    public void Remove()
    {
        if (!ReleasesFirst)
            File.Delete(name);
        file.Dispose();
        if (!ReleasesFirst)
            return;
        try
        {
            File.Delete(name);
        }
        catch (IOException)
        {
            // Another update took it in between: it is that one's now.
        }
    }

    public void Dispose() => file.Dispose();

    /// <summary>Empty, or its heading cut short by a kill: nothing was begun. Null: a person's file.</summary>
    private static UpdatePhase? PhaseIn(string text) =>
        !(Heading + Exchanging + Tidying).StartsWith(text, StringComparison.Ordinal) ? null
        : text.Length >= (Heading + Exchanging + Tidying).Length ? UpdatePhase.Tidying
        : text.Length >= (Heading + Exchanging).Length ? UpdatePhase.Exchanging
        : text.Length >= Heading.Length ? UpdatePhase.Building : UpdatePhase.Fresh;

    private static FileStream Hold(string path, string folder)
    {
        if (Directory.Exists(path))
            throw new CouldNotRunException($"{path} is in the way and not ours. Move it away, then update again.");
        for (var tries = 0; ; tries++)
        {
            try
            {
                var held = new FileStream(path, FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None);
                if (IsAtItsName(held, path))
                    return held;
                held.Dispose();
            }
            catch (IOException e) when (File.Exists(path))
            {
                throw new CouldNotRunException($"another `shelf update` is at work on {folder}. Wait until it is done.", e);
            }
            if (tries == MostTries)
                throw new CouldNotRunException($"another `shelf update` is at work on {folder}. Wait until it is done.");
        }
    }

    /// <summary>
    /// Where an open file can lose its name, an update that ended between our opening and our lock has taken the note away. A time nobody else
    /// writes says whether the name still leads to what is held.
    /// </summary>
    private static bool IsAtItsName(FileStream held, string path)
    {
        if (OperatingSystem.IsWindows())
            return true;
        var mark = new DateTime(1990, 1, 1, 0, 0, 0, DateTimeKind.Utc).AddSeconds(Random.Shared.Next(1, 600_000_000));
        File.SetLastWriteTimeUtc(held.SafeFileHandle, mark);
        return File.Exists(path) && File.GetLastWriteTimeUtc(path) == File.GetLastWriteTimeUtc(held.SafeFileHandle);
    }
}
