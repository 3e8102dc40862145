using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Intake;

/// <summary>
/// Whether one more file fits into a version. Asked when its upload starts, and again when it ends: files sent beside each other
/// without a plan may each have fitted alone.
/// </summary>
internal static class VersionRoom
{
    /// <summary>Why it does not fit, naming it; null when it does. <paramref name="length"/> in bytes.</summary>
    public static async Task<string?> WhyOverAsync(
        ShelfDb db, IntakeSettings limits, long releaseId, string path, long length, CancellationToken cancellationToken)
    {
        var lines = db.ReleaseFiles.Where(f => f.ReleaseId == releaseId);
        // A planned file was counted with its plan; adding up 20,000 lines for each of 20,000 files would take minutes.
        if (await lines.AnyAsync(f => f.Path == path && f.Size == length, cancellationToken))
            return null;
        var others = await lines.Where(f => f.Path != path)
            .GroupBy(_ => 1)
            .Select(g => new { Count = g.Count(), Bytes = g.Sum(f => f.Size) })
            .SingleOrDefaultAsync(cancellationToken);
        // The first file of a version has no others, and is held to the limit all the same.
        var (count, bytes) = (others?.Count ?? 0, others?.Bytes ?? 0);
        if (count >= limits.MaxFiles)
            return T($"{FolderRules.Shown(path)} was not taken: the version already holds {count:N0} files, the most this shelf takes. What it holds is kept.");
        return bytes > limits.MaxReleaseBytes - length
            ? T($"{FolderRules.Shown(path)} was not taken: with it the version would hold more than {limits.MaxReleaseBytes:N0} bytes, the most this shelf takes. What it holds is kept.")
            : null;
    }
}
