using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Core.Intake;

/// <summary>What a folder may not hold at all. Names that merely trouble some system are the check's affair.</summary>
internal static class FolderRules
{
    /// <summary>Why a path can never be stored, naming it; null when it can.</summary>
    public static string? WhyPathRefused(string? path)
    {
        if (path is null)
            return T("A file came without a path. Nothing was altered. Send each file with its path inside the folder.");
        return PortablePath.Check(path) is { } problem && PortablePath.IsUnsafe(problem)
            ? $"{(path.Length == 0 ? T("A file without a name") : Shown(path))}: {PortablePath.Words(problem)}"
            : null;
    }

    /// <summary>The first line that breaks a rule, with the reason; null when all may come.</summary>
    public static (string Path, string Message)? FirstRefused(IReadOnlyList<PlannedFile?> files, IntakeSettings limits)
    {
        if (files.Count == 0)
            return ("", T("The folder holds no files. Nothing was altered. Choose the folder that holds the recordings."));
        if (files.Count > limits.MaxFiles)
            return ("", T($"The folder holds {files.Count:N0} files; this shelf takes {limits.MaxFiles:N0} in one version. Nothing was altered."));
        var seen = new HashSet<string>(StringComparer.Ordinal);
        var sizes = new Dictionary<string, long>(StringComparer.Ordinal);
        Int128 total = 0;
        foreach (var file in files)
        {
            if (file is null)
                return ("", T("A line of the folder’s list is empty. Nothing was altered. Send the list again, each line with a path, a size and a hash."));
            if (WhyLineRefused(file, limits, seen, sizes) is { } reason)
                return (file.Path ?? "", reason);
            total += file.Size;
        }
        return total > limits.MaxReleaseBytes
            ? ("", T($"The folder holds {total:N0} bytes; this shelf takes {limits.MaxReleaseBytes:N0} in one version. Nothing was altered."))
            : null;
    }

    /// <summary>A path fit for a message: unseen characters shown as a mark, shortened.</summary>
    public static string Shown(string path)
    {
        var start = path.Length <= 1000 ? path : path[..1000];
        var plain = string.Concat(start.Select(c => PortablePath.IsUnseen(c) || char.IsSurrogate(c) ? '\uFFFD' : c));
        return plain.Length <= 200 ? plain : string.Concat(plain.AsSpan(0, 197), "...");
    }

    private static string? WhyLineRefused(PlannedFile file, IntakeSettings limits, HashSet<string> seen, Dictionary<string, long> sizes)
    {
        if (WhyPathRefused(file.Path) is { } reason)
            return reason;
        if (!seen.Add(file.Path))
            return T($"{Shown(file.Path)} is listed twice. Nothing was altered. Send each path once.");
        if (file.Size < 0)
            return T($"{Shown(file.Path)} has a size below zero. Nothing was altered.");
        if (file.Size > limits.MaxUploadBytes)
            return T($"{Shown(file.Path)} has {file.Size:N0} bytes; this shelf takes files up to {limits.MaxUploadBytes:N0} bytes. Nothing was altered.");
        if (file.Sha256 is null)
            return null;
        if (!ContentHash.IsValid(file.Sha256))
            return T($"{Shown(file.Path)} has a hash that is no SHA-256 in lower-case hex. Nothing was altered.");
        return sizes.TryGetValue(file.Sha256, out var size) && size != file.Size
            ? T($"{Shown(file.Path)} has the same hash as another file but another size; one of them changed while it was read. Nothing was altered. Send the folder again.")
            : Remember(sizes, file);
    }

    private static string? Remember(Dictionary<string, long> sizes, PlannedFile file)
    {
        sizes[file.Sha256!] = file.Size;
        return null;
    }
}
