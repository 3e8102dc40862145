using LibraryShelf.Audio;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Tests.CheckSheets;

/// <summary>A library folder built file by file, with facts instead of bytes.</summary>
internal sealed class Folder
{
    private readonly Dictionary<string, string> texts = new(StringComparer.Ordinal);
    private readonly Dictionary<string, RecordingFacts> recordings = new(StringComparer.Ordinal);
    private readonly List<FolderFile> files = [];

    public Folder With(string path, RecordingFacts? facts = null)
    {
        files.Add(new FolderFile(path, 100));
        if (facts is not null)
            recordings[path] = facts;
        return this;
    }

    public Folder Sfz(string path, string text)
    {
        texts[path] = text;
        return With(path);
    }

    public CheckSheet Judge(bool isPitched = true, LibraryLimits? limits = null, Dictionary<string, string>? hashes = null) =>
        FolderCheck.Judge(new FolderToJudge(files, recordings, path => texts.GetValueOrDefault(path), isPitched)
        {
            Limits = limits ?? LibraryLimits.Default,
            Hashes = hashes ?? [],
        });
}
