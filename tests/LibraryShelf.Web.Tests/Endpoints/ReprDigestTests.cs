using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Text.RegularExpressions;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>RFC 9530: the digest of the whole representation, whatever part of it the answer carries.</summary>
public sealed class ReprDigestTests
{
    // A Dictionary of RFC 9651 with one member, a Byte Sequence (§3.2, §3.3.5) of 32 bytes.
    private static readonly Regex Syntax = new("^sha-256=:([A-Za-z0-9+/]{43}=):$", RegexOptions.CultureInvariant);

    private static string? Digest(HttpResponseMessage answer)
    {
        if (!answer.Headers.TryGetValues("Repr-Digest", out var values)) return null;
        var match = Syntax.Match(Assert.Single(values));
        Assert.True(match.Success, $"Not as RFC 9530 writes it: {values.Single()}");
        return Convert.ToHexStringLower(Convert.FromBase64String(match.Groups[1].Value));
    }

    /// <summary>What coreutils says of the bytes that arrived.</summary>
    private static async Task<string> Sha256SumAsync(byte[] bytes)
    {
        using var process = Process.Start(new ProcessStartInfo("sha256sum", "-") { UseShellExecute = false, RedirectStandardInput = true, RedirectStandardOutput = true })!;
        await process.StandardInput.BaseStream.WriteAsync(bytes);
        process.StandardInput.Close();
        var said = await process.StandardOutput.ReadToEndAsync();
        await process.WaitForExitAsync();
        return said.Split(' ')[0];
    }

    [Fact]
    public async Task It_is_that_of_the_whole_on_every_answer_that_has_the_archive_and_on_no_other()
    {
        await using var shelf = await StockedHost.MakeAsync(5000, 70_000);
        var link = await shelf.LinkAsync();
        using (var before = await shelf.GetAsync(link.Path, ("Range", "bytes=0-9"))) Assert.Null(Digest(before)); // not read through yet
        var archive = await shelf.Host.AskDbAsync(db => db.Archives.Select(a => a.Id).SingleAsync());
        await shelf.Host.RunAsync<DigestArchive, bool>(async d => { await d.RunAsync(archive, default); return true; });

        using var whole = await shelf.GetAsync(link.Path);
        var bytes = await whole.Content.ReadAsByteArrayAsync();
        var expected = await Sha256SumAsync(bytes);
        Assert.Equal(64, expected.Length);
        Assert.Equal((HttpStatusCode.OK, expected), (whole.StatusCode, Digest(whole)));
        await CheckAsync(HttpStatusCode.PartialContent, expected, ("Range", "bytes=100-199"));
        await CheckAsync(HttpStatusCode.PartialContent, expected, ("Range", "bytes=0-0,7000-"));
        // No representation of the archive goes with these, and the fields of a 304 are few (RFC 9110 §15.4.5).
        await CheckAsync(HttpStatusCode.NotModified, null, ("If-None-Match", $"\"{shelf.RecipeSha256}\""));
        await CheckAsync(HttpStatusCode.PreconditionFailed, null, ("If-Match", "\"x\""));
        await CheckAsync(HttpStatusCode.RequestedRangeNotSatisfiable, null, ("Range", string.Create(CultureInfo.InvariantCulture, $"bytes={bytes.Length}-")));

        using var client = shelf.Client();
        using var request = new HttpRequestMessage(HttpMethod.Head, new Uri(shelf.Address, link.Path));
        using var head = await client.SendAsync(request);
        Assert.Equal((HttpStatusCode.OK, expected), (head.StatusCode, Digest(head)));
        using var refused = await shelf.GetAsync(link.Path + "x");
        Assert.Null(Digest(refused));

        async Task CheckAsync(HttpStatusCode status, string? digest, (string, string) field)
        {
            using var answer = await shelf.GetAsync(link.Path, field);
            Assert.Equal((status, digest), (answer.StatusCode, Digest(answer)));
        }
    }
}
