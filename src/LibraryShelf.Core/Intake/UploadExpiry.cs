namespace LibraryShelf.Core.Intake;

/// <summary>
/// Until when an unfinished upload may be gone on with: the answers say it, a later piece is refused by it, and the sweep
/// removes what is past it.
/// </summary>
internal static class UploadExpiry
{
    /// <summary>Counted from the upload's last byte, or from its start while there is none.</summary>
    public static readonly TimeSpan KeptFor = TimeSpan.FromDays(7);

    /// <summary>The last instant at which it is still taken, in whole seconds, because that is what an HTTP date can say.</summary>
    public static DateTimeOffset Of(DateTimeOffset createdAt, DateTimeOffset? writtenAt)
    {
        var end = (writtenAt > createdAt ? writtenAt.Value : createdAt) + KeptFor;
        return DateTimeOffset.FromUnixTimeSeconds(end.ToUnixTimeSeconds());
    }

    public static DateTimeOffset Of(Upload upload, UploadDesk desk) => Of(upload.CreatedAt, desk.WrittenAt(upload.Id));

    public static bool IsOver(Upload upload, UploadDesk desk, DateTimeOffset now) =>
        upload.FinishedAt is null && now > Of(upload, desk);
}
