using LibraryShelf.Audio;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Folders;
using LibraryShelf.Packaging.Mappings;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Comparing;

/// <summary>One side of a comparison as the shelf holds it.</summary>
internal sealed record ComparedRelease(Release Release, IReadOnlyList<RecipeEntry> Files, bool IsWhole)
{
    /// <summary>Raised when comparing would come out otherwise for the same folders; older outcomes are then made anew.</summary>
    private const int Comparing = 6;

    /// <summary>Of the comparing code and of the measures that it looks at, which have a generation of their own, below a thousand.</summary>
    public const int Generation = Comparing * 1000 + RecordingFacts.CurrentGeneration;

    /// <summary>With its library and players; not whole when a file of it is not in the store. Null when it is gone.</summary>
    public static async Task<ComparedRelease?> LoadAsync(ShelfDb db, long releaseId, CancellationToken cancellationToken)
    {
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).Include(r => r.Players)
            .FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return null;
        var files = await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId).OrderBy(f => f.Path)
            .Select(f => new { f.Path, f.Size, f.Sha256, Crc32 = db.Blobs.Where(b => b.Sha256 == f.Sha256).Select(b => (uint?)b.Crc32).FirstOrDefault() })
            .ToListAsync(cancellationToken);
        return new ComparedRelease(
            release, files.ConvertAll(f => RecipeEntry.FromBlob(f.Path, f.Size, f.Crc32 ?? 0, f.Sha256)), !files.Exists(f => f.Crc32 is null));
    }

    /// <summary>See <see cref="FolderMarks"/>; of the files that are held here, whatever the row says by now.</summary>
    public MarkedRelease Marked => new(
        Release.Id, Release.State, FolderMarks.Of(Files.Select(f => (f.Path, f.Sha256!))), Release.Number, Release.Library.Limits,
        [.. Release.Players.OrderBy(p => p.Order).ThenBy(p => p.Id)]);

    /// <summary>Hashes of its recordings, each once.</summary>
    public IEnumerable<string> Recordings => Files.Where(f => FileKinds.Of(f.Path) == FileKind.Recording).Select(f => f.Sha256!).Distinct(StringComparer.Ordinal);

    /// <summary>As comparing wants it; <paramref name="facts"/> are those of its recordings at least.</summary>
    public ComparedFolder ToFolder(IReadOnlyDictionary<string, RecordingFacts> facts, IBlobStore blobs)
    {
        var hashes = Files.ToDictionary(f => f.Path, f => f.Sha256!, StringComparer.Ordinal);
        return new ComparedFolder([.. Files.Select(f => new ComparedFile(f.Path, f.Size, f.Sha256!))], facts, ReadText, blobs.Open) { Players = Players, Naming = NamingOf(Release.Library) };

        string? ReadText(string path)
        {
            if (!hashes.TryGetValue(path, out var hash))
                return null;
            using var stream = blobs.Open(hash);
            return MappingText.Read(stream);
        }
    }

    private static NoteNaming NamingOf(Library library) => new(FolderMarks.MiddleC(library.Limits));

    /// <summary>
    /// A recipe of its whole archive, for sizes: the words are those of now, which a draft's maker may still write, so a size made from it may
    /// be some hundred bytes off.
    /// </summary>
    public Recipe ToRecipe() => FullArchive.Build(new FullArchiveInput
    {
        Title = Release.Library.FolderName ?? Release.Library.Title,
        Number = Release.Number,
        Files = Files,
        Changes = [new ReleaseChange(Release.Number, null, Release.Notes)],
        LicenceSpdx = Release.LicenceSpdx,
        LicenceText = Release.LicenceText,
        Credits = Release.Credits,
        Players = [.. Release.Players.OrderBy(p => p.Order).Select(p => new PlayerGuide(p.Name, p.LowestVersion, p.HowToInstall))],
    });

    private IReadOnlyList<ComparedPlayer> Players => [.. Release.Players.OrderBy(p => p.Order).Select(p => new ComparedPlayer(p.Name, p.LowestVersion))];
}
