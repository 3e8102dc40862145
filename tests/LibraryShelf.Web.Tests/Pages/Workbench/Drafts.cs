using System.Text;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>Rows that the steps before a page would have left: a library, a release with files, a check sheet.</summary>
internal static class Drafts
{
    public static async Task<long> ReleaseAsync(this ShelfHost host, string number = "1.0.0", string slug = "kettle")
    {
        await host.RunAsync((AddLibrary add) => add.RunAsync(new LibraryWords("Mended Kettle"), slug, CancellationToken.None));
        var started = await host.RunAsync((StartRelease start) => start.RunAsync(slug, number, CancellationToken.None));
        return Assert.IsType<StartReleaseOutcome.Started>(started).ReleaseId;
    }

    /// <summary>Puts a file into the draft; without its bytes when it is still on its way.</summary>
    public static Task FileAsync(this ShelfHost host, long releaseId, string path, string text, bool isHere = true) => host.WithDbAsync(async db =>
    {
        using var bytes = new MemoryStream(Encoding.UTF8.GetBytes(text));
        var sha256 = Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(bytes.ToArray()));
        if (isHere)
        {
            var stored = await host.RunAsync((IBlobStore store) => store.PutAsync(bytes, CancellationToken.None));
            db.Blobs.Add(new Blob { Sha256 = stored.Sha256, Size = stored.Size, Crc32 = stored.Crc32 });
        }
        db.ReleaseFiles.Add(new ReleaseFile { ReleaseId = releaseId, Path = path, Sha256 = sha256, Size = bytes.Length });
        await db.SaveChangesAsync();
    });

    public static Task CheckedAsync(this ShelfHost host, long releaseId, params (Severity Severity, string? Path, string Message)[] findings) =>
        host.WithDbAsync(async db =>
        {
            var release = await db.Releases.SingleAsync(r => r.Id == releaseId);
            Assert.True(release.MoveTo(ReleaseState.Checked, DateTimeOffset.UnixEpoch.AddYears(56)));
            (release.Recordings, release.Keys, release.LowestKey, release.HighestKey) = (393, 25, 48, 72);
            db.SheetEntries.AddRange(findings.Select((f, order) => new SheetEntry
            {
                ReleaseId = releaseId, Code = "x", Severity = f.Severity, Path = f.Path, Message = f.Message, Order = order,
            }));
            await db.SaveChangesAsync();
        });
}
