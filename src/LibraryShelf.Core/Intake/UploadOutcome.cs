namespace LibraryShelf.Core.Intake;

/// <summary>How an upload stands after it was asked about or written to. Offsets and lengths in bytes.</summary>
public abstract record UploadOutcome
{
    private UploadOutcome() { }

    /// <summary>The last instant at which an unfinished upload may be gone on with; null when it is finished or gone.</summary>
    public DateTimeOffset? ExpiresAt { get; init; }

    /// <summary>What the sender said of it when it was begun; told only when asked how far it is.</summary>
    public string Metadata { get; init; } = "";

    /// <summary>The upload stands and waits for more, whatever became of this request.</summary>
    internal bool IsUnfinished => this is Open or WrongOffset or TooLong or BadChecksum or NoRoom;

    /// <summary>More bytes are to come, from <paramref name="Offset"/>.</summary>
    public sealed record Open(long Offset, long Length) : UploadOutcome;

    /// <summary>All bytes are in, and for a single file in the draft. A zip waits to be unpacked when <paramref name="Unpack"/> says so.</summary>
    public sealed record Finished(long Length, long ReleaseId, bool Unpack) : UploadOutcome;

    public sealed record NoSuchUpload : UploadOutcome;

    /// <summary>Nobody went on with it for too long; its bytes are removed with the next sweep.</summary>
    public sealed record Expired : UploadOutcome;

    /// <summary>Somebody else is writing to it at this moment.</summary>
    public sealed record Busy : UploadOutcome;

    /// <summary>The bytes offered don't begin where the shelf's end; nothing was taken.</summary>
    public sealed record WrongOffset(long Offset) : UploadOutcome;

    /// <summary>
    /// More bytes were offered than announced. The first <paramref name="Offset"/> bytes are kept: all of those announced, or, when
    /// the piece came with a checksum that can't be its own any more, what was there before it.
    /// </summary>
    public sealed record TooLong(long Offset, long Length) : UploadOutcome;

    /// <summary>The checksum sent with these bytes is not theirs; they were dropped.</summary>
    public sealed record BadChecksum(long Offset) : UploadOutcome;

    /// <summary>The whole is not what the sender announced; the upload was dropped.</summary>
    public sealed record Mismatch(string Message) : UploadOutcome;

    /// <summary>The release was sealed meanwhile; the upload was dropped.</summary>
    public sealed record Closed(string Message) : UploadOutcome;

    /// <summary>With this file the version would hold more than the shelf takes; the upload was dropped.</summary>
    public sealed record TooLarge(string Message) : UploadOutcome;

    /// <summary>The disk refused; the bytes up to <paramref name="Offset"/> are kept.</summary>
    public sealed record NoRoom(long Offset, string Message) : UploadOutcome;
}
