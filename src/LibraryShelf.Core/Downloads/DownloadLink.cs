namespace LibraryShelf.Core.Downloads;

/// <summary>
/// What a download link carries in the open. Who it was made for and which archive it opens are signed with it but stand in
/// the <see cref="Download"/> row, so a link tells nothing of a person.
/// </summary>
/// <param name="DownloadId">The <see cref="Download"/> row, 22 characters of base64url.</param>
/// <param name="FileName">Of the archive, as the client will save it.</param>
/// <param name="StartBy">Unix seconds; from then on nothing can be started.</param>
/// <param name="FinishBy">Unix seconds; from then on nothing can be resumed.</param>
/// <param name="KeyId">The <see cref="LinkKey"/> that signed it.</param>
/// <param name="Mac">HMAC-SHA-256, 43 characters of base64url.</param>
internal sealed record DownloadLink(string DownloadId, string FileName, long StartBy, long FinishBy, int KeyId, string Mac);
