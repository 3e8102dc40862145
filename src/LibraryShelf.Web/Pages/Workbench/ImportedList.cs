using System.Buffers.Text;
using System.IO.Compression;
using LibraryShelf.Core.Membership;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>
/// A list on its way from the first press to the second: kept in the page itself, squeezed, so that nothing of people who may never be brought here is
/// kept on the server. As base64, because a form changes the ends of lines.
/// </summary>
internal static class ImportedList
{
    public static string Keep(byte[] file)
    {
        using var squeezed = new MemoryStream();
        using (var zip = new GZipStream(squeezed, CompressionLevel.Fastest))
            zip.Write(file);
        return Convert.ToBase64String(squeezed.ToArray());
    }

    /// <returns>Null: it is no list that <see cref="Keep"/> kept. One longer than may be is cut, and so is not the one that was shown.</returns>
    public static byte[]? Read(string? kept)
    {
        if (string.IsNullOrEmpty(kept) || !Base64.IsValid(kept))
            return null;
        try
        {
            using var zip = new GZipStream(new MemoryStream(Convert.FromBase64String(kept)), CompressionMode.Decompress);
            var file = new byte[ReadImport.MostBytes + 1];
            var length = zip.ReadAtLeast(file, file.Length, throwOnEndOfStream: false);
            return file[..length];
        }
        catch (InvalidDataException)
        {
            return null;
        }
    }
}
