using LibraryShelf.Core.Data;

namespace LibraryShelf.Core.Intake;

/// <summary>Zips that have arrived whole and are not unpacked yet.</summary>
internal static class WaitingZips
{
    public static IQueryable<Upload> Of(ShelfDb db, long releaseId) =>
        db.Uploads.Where(u => u.ReleaseId == releaseId && u.Kind == UploadKind.Zip
            && u.FinishedAt != null && u.UnpackedAt == null && u.Trouble == null);
}
