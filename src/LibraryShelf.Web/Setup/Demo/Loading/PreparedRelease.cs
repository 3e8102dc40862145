using System.Collections.Concurrent;
using System.Security.Cryptography;
using LibraryShelf.Web.Setup.Demo.Folders;
using LibraryShelf.Web.Setup.Demo.Recipes;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>A file ready to be sent; <paramref name="Bytes"/> is null when an earlier version brought them.</summary>
internal sealed record PreparedFile(string Path, long Size, string Sha256, byte[]? Bytes);

/// <summary>A version's folder, rendered and hashed.</summary>
internal sealed record PreparedRelease(LibraryRecipe Library, VersionRecipe Version, IReadOnlyList<PreparedFile> Files);

/// <summary>Renders folders, each recording once: a later version that shares it only names its hash.</summary>
internal sealed class FolderMaker
{
    private readonly ConcurrentDictionary<PlannedRecording, (long Size, string Sha256)> _made = new();

    public PreparedRelease Make(LibraryRecipe library, VersionRecipe version)
    {
        var plan = FolderPlan.Of(library, version);
        var files = new PreparedFile[plan.Count];
        Parallel.For(0, plan.Count, i => files[i] = Prepare(plan[i]));
        return new PreparedRelease(library, version, files);
    }

    private PreparedFile Prepare(SeedFile file)
    {
        if (file.Recording is not null && _made.TryGetValue(file.Recording, out var made))
            return new PreparedFile(file.Path, made.Size, made.Sha256, null);
        var bytes = file.Bytes ?? RecordingBytes.Of(file.Recording!);
        var hash = Convert.ToHexStringLower(SHA256.HashData(bytes));
        if (file.Recording is not null)
            _made[file.Recording] = (bytes.Length, hash);
        return new PreparedFile(file.Path, bytes.Length, hash, bytes);
    }
}
