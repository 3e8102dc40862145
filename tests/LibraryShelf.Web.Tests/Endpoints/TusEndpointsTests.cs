using System.Net;
using System.Net.Http.Headers;
using System.Text;
using System.Security.Cryptography;
using LibraryShelf.Web.Endpoints;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Web.Tests.Endpoints.SendBench;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>
/// Each value is from the tus resumable upload protocol 1.0.0 (2016-03-25, tus/tus-resumable-upload-protocol @30698e1
/// protocol.md), named by its section.
/// </summary>
public sealed class TusEndpointsTests : IAsyncLifetime, IDisposable
{
    private static readonly byte[] Hundred = [.. Enumerable.Range(0, 100).Select(i => (byte)i)];
    private readonly ShelfHost host = new() { Settings = { ["Shelf:Intake:MaxUploadBytes"] = "100000" } };
    private HttpClient client = null!;
    private long release;

    public async Task InitializeAsync()
    {
        release = await host.OpenDraftAsync();
        client = host.Sender();
    }

    public Task DisposeAsync() => Task.CompletedTask;

    public void Dispose() => host.Dispose();

    // Core protocol, HEAD: 200 or 204, Upload-Offset even if 0, Upload-Length if known, Cache-Control: no-store.
    [Fact]
    public async Task Head_says_offset_and_length_and_is_not_cached()
    {
        var answer = await client.SendAsync(Tus(HttpMethod.Head, await StartedAsync()));
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Equal(("0", "100", "1.0.0"), (answer.Header("Upload-Offset"), answer.Header("Upload-Length"), answer.Header("Tus-Resumable")));
        Assert.True(answer.Headers.CacheControl!.NoStore);
        // tus 1.0.0, creation: HEAD gives back what the client said. "take one.wav" in base64: printf 'take one.wav' | base64
        var metadata = $"release {Convert.ToBase64String(Encoding.UTF8.GetBytes($"{await host.AskDbAsync(db => Task.FromResult(db.Releases.Single().Id))}"))},path dGFrZSBvbmUud2F2,my-own-key,other YQ==";
        using var creation = Tus(HttpMethod.Post, "/uploads");
        creation.Headers.Add("Upload-Length", "5");
        creation.Headers.Add("Upload-Metadata", metadata);
        using var created = await client.SendAsync(creation);
        Assert.Equal(metadata, (await client.SendAsync(Tus(HttpMethod.Head, created.Headers.Location!.OriginalString))).Header("Upload-Metadata"));
    }

    // HEAD: unknown SHOULD be 404, 410 or 403, without Upload-Offset. PATCH: unknown SHOULD be 404.
    [Theory]
    [InlineData("/uploads/AAAAAAAAAAAAAAAAAAAAAA")]
    [InlineData("/uploads/..%2Fshelf.db")]
    [InlineData("/uploads/x")]
    public async Task An_unknown_upload_is_404(string url)
    {
        var head = await client.SendAsync(Tus(HttpMethod.Head, url));
        Assert.Equal((HttpStatusCode.NotFound, null), (head.StatusCode, head.Header("Upload-Offset")));
        Assert.Equal(HttpStatusCode.NotFound, (await client.SendAsync(Patch(url, 0, Hundred))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await client.SendAsync(Tus(HttpMethod.Delete, url))).StatusCode);
    }

    // Core protocol, example: PATCH at 70 with 30 bytes of 100: 204, Upload-Offset: 100.
    [Fact]
    public async Task Patch_at_70_with_30_bytes_ends_at_100()
    {
        var url = await StartedAsync();
        Assert.Equal("70", (await client.SendAsync(Patch(url, 0, Hundred[..70]))).Header("Upload-Offset"));
        var answer = await client.SendAsync(Patch(url, 70, Hundred[70..]));
        Assert.Equal((HttpStatusCode.NoContent, "100"), (answer.StatusCode, answer.Header("Upload-Offset")));
        Assert.Equal(Hash(Hundred), await host.AskDbAsync(db => db.ReleaseFiles.Where(f => f.Path == "low/ä 1.wav").Select(f => f.Sha256).SingleAsync()));
    }

    // PATCH: offsets differ: 409, resource unmodified.
    [Fact]
    public async Task Another_offset_is_409_and_changes_nothing()
    {
        var url = await StartedAsync();
        await client.SendAsync(Patch(url, 0, Hundred[..70]));
        Assert.Equal(HttpStatusCode.Conflict, (await client.SendAsync(Patch(url, 60, Hundred[60..]))).StatusCode);
        Assert.Equal("70", await OffsetAsync(url));
    }

    // PATCH: wrong Content-Type SHOULD be 415.
    [Fact]
    public async Task Another_content_type_is_415()
    {
        var url = await StartedAsync();
        var request = Patch(url, 0, Hundred);
        request.Content!.Headers.ContentType = new MediaTypeHeaderValue("application/octet-stream");
        Assert.Equal(HttpStatusCode.UnsupportedMediaType, (await client.SendAsync(request)).StatusCode);
        Assert.Equal("0", await OffsetAsync(url));
    }

    // Tus-Resumable: unsupported or missing: 412 with Tus-Version, and the request is not processed.
    [Theory]
    [InlineData("0.2.2")]
    [InlineData(null)]
    public async Task Another_version_is_412(string? version)
    {
        var request = Create(release, "a.wav", 100);
        request.Headers.Remove("Tus-Resumable");
        if (version is not null) request.Headers.Add("Tus-Resumable", version);
        var answer = await client.SendAsync(request);
        Assert.Equal((HttpStatusCode.PreconditionFailed, "1.0.0"), (answer.StatusCode, answer.Header("Tus-Version")));
        Assert.Equal(0, await host.AskDbAsync(db => db.Uploads.CountAsync()));
    }

    // OPTIONS: 204 or 200, Tus-Version, Tus-Extension, Tus-Max-Size if known; no Tus-Resumable needed.
    [Fact]
    public async Task Options_says_what_the_shelf_can_do()
    {
        var answer = await host.Visitor().SendAsync(new HttpRequestMessage(HttpMethod.Options, "/uploads"));
        Assert.Equal(HttpStatusCode.NoContent, answer.StatusCode);
        Assert.Equal(("1.0.0", "creation,creation-with-upload,checksum,expiration,termination", "100000", "sha1,sha256"),
            (answer.Header("Tus-Version"), answer.Header("Tus-Extension"), answer.Header("Tus-Max-Size"), answer.Header("Tus-Checksum-Algorithm")));
    }

    // Creation: 201 with Location.
    [Fact]
    public async Task Creation_answers_201_and_where()
    {
        var answer = await client.SendAsync(Create(release, "a.wav", 100));
        Assert.Equal(HttpStatusCode.Created, answer.StatusCode);
        Assert.StartsWith("/uploads/", answer.Headers.Location!.OriginalString, StringComparison.Ordinal);
    }

    // Creation: Upload-Length over Tus-Max-Size: 413.
    [Fact]
    public async Task Too_long_is_413()
    {
        var answer = await client.SendAsync(Create(release, "a.wav", 100_001));
        Assert.Equal((HttpStatusCode.RequestEntityTooLarge, "100000"), (answer.StatusCode, answer.Header("Tus-Max-Size")));
    }

    // Creation: neither Upload-Length nor Upload-Defer-Length, or the latter other than 1: 400. (1 is refused too: not offered.)
    [Theory]
    [InlineData(null, null, "Upload-Length is missing")]
    [InlineData("Upload-Defer-Length", "2", "send Upload-Length, not Upload-Defer-Length")]
    [InlineData("Upload-Defer-Length", "1", "send Upload-Length, not Upload-Defer-Length")]
    [InlineData("Upload-Length", "-1", "Upload-Length is missing or is no whole number")]
    [InlineData("Upload-Length", "ten", "Upload-Length is missing or is no whole number")]
    [InlineData("Upload-Defer-Length", "1", "send Upload-Length, not Upload-Defer-Length", true)]
    public async Task No_usable_length_is_400(string? name, string? value, string words, bool withLength = false)
    {
        var request = Create(release, "a.wav", 100);
        if (!withLength) request.Headers.Remove("Upload-Length");
        if (name is not null) request.Headers.TryAddWithoutValidation(name, value);
        var answer = await client.SendAsync(request);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Contains(words, await answer.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.Equal(0, await host.AskDbAsync(db => db.Uploads.CountAsync()));
    }

    // A creation with bytes of another type, or with a checksum that is none, begins nothing.
    [Theory]
    [InlineData("text/plain", null, HttpStatusCode.UnsupportedMediaType)]
    [InlineData("application/offset+octet-stream", "crc32 AAAA", HttpStatusCode.BadRequest)]
    [InlineData("application/offset+octet-stream", "sha1 not base64", HttpStatusCode.BadRequest)]
    public async Task A_refused_creation_with_bytes_leaves_no_upload(string type, string? checksum, HttpStatusCode status)
    {
        var request = Create(release, "a.wav", 100);
        request.Content = new ByteArrayContent(Hundred) { Headers = { { "Content-Type", type } } };
        if (checksum is not null) request.Headers.TryAddWithoutValidation("Upload-Checksum", checksum);
        Assert.Equal(status, (await client.SendAsync(request)).StatusCode);
        Assert.Equal(0, await host.AskDbAsync(db => db.Uploads.CountAsync()));
    }

    // Creation With Upload: Upload-Offset in the answer.
    [Fact]
    public async Task Creation_with_all_bytes_is_one_request()
    {
        var request = Create(release, "a.wav", 100, ("sha256", Hash(Hundred)));
        request.Content = Patch("/", 0, Hundred).Content;
        var answer = await client.SendAsync(request);
        Assert.Equal((HttpStatusCode.Created, "100"), (answer.StatusCode, answer.Header("Upload-Offset")));
        Assert.Equal(1, await host.AskDbAsync(db => db.Blobs.CountAsync()));
    }

    // Checksum: unsupported algorithm 400; mismatch 460 and the chunk is discarded; SHA-1 must be offered.
    [Fact]
    public async Task Checksums_are_held_to()
    {
        var url = await StartedAsync();
        Assert.Equal(HttpStatusCode.BadRequest, (await client.SendAsync(Patch(url, 0, Hundred, ("Upload-Checksum", "md5 AAAA")))).StatusCode);
        Assert.Equal(460, (int)(await client.SendAsync(Patch(url, 0, Hundred, ("Upload-Checksum", Sha1(Hundred[1..]))))).StatusCode);
        Assert.Equal("0", await OffsetAsync(url));
        Assert.Equal(HttpStatusCode.NoContent, (await client.SendAsync(Patch(url, 0, Hundred, ("Upload-Checksum", Sha1(Hundred))))).StatusCode);
    }

    // Termination: 204, later requests 404 or 410.
    [Fact]
    public async Task A_terminated_upload_is_gone()
    {
        var url = await StartedAsync();
        await client.SendAsync(Patch(url, 0, Hundred[..70]));
        Assert.Equal(HttpStatusCode.NoContent, (await client.SendAsync(Tus(HttpMethod.Delete, url))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await client.SendAsync(Tus(HttpMethod.Head, url))).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await client.SendAsync(Patch(url, 70, Hundred[70..]))).StatusCode);
    }

    // X-HTTP-Method-Override: MUST be taken as the request's method.
    [Fact]
    public async Task The_method_may_be_overridden()
    {
        var request = Patch(await StartedAsync(), 0, Hundred, ("X-HTTP-Method-Override", "PATCH"));
        request.Method = HttpMethod.Post;
        Assert.Equal(HttpStatusCode.NoContent, (await client.SendAsync(request)).StatusCode);
    }

    // Upload-Metadata's example: filename = world_domination_plan.pdf; a key may stand alone.
    [Fact]
    public void Metadata_is_read()
    {
        var read = TusProtocol.ReadMetadata("filename d29ybGRfZG9taW5hdGlvbl9wbGFuLnBkZg==,is_confidential");
        Assert.Equal("world_domination_plan.pdf", read!["filename"]);
        Assert.Equal("", read["is_confidential"]);
        Assert.Null(TusProtocol.ReadMetadata("filename ***"));
        Assert.Null(TusProtocol.ReadMetadata("fläche QQ=="));
        Assert.Null(TusProtocol.ReadMetadata("key\tname QQ=="));
        Assert.Null(TusProtocol.ReadMetadata("a QQ==,a QQ=="));
        Assert.Null(TusProtocol.ReadMetadata("path /w=="));
    }

    [Fact]
    public async Task Other_bytes_than_announced_are_said_and_not_kept()
    {
        var created = await client.SendAsync(Create(release, "a.wav", 100, ("sha256", Hash(Hundred[1..]))));
        var answer = await client.SendAsync(Patch(created.Headers.Location!.OriginalString, 0, Hundred));
        Assert.Equal(HttpStatusCode.UnprocessableEntity, answer.StatusCode);
        Assert.Contains("a.wav", await answer.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.Equal(0, await host.AskDbAsync(db => db.Blobs.CountAsync()));
    }

    [Fact]
    public async Task Without_a_token_or_a_maker_nothing_is_taken()
    {
        var visitor = host.Visitor();
        Assert.Equal(HttpStatusCode.Unauthorized, (await visitor.SendAsync(Create(release, "a.wav", 100))).StatusCode);
        var member = await host.SignedInAsync("member@example.org");
        Assert.Equal(HttpStatusCode.Forbidden, (await member.SendAsync(Create(release, "a.wav", 100))).StatusCode);
    }

    [Fact]
    public async Task The_makers_cookie_alone_is_not_enough()
    {
        var maker = await host.MakerAsync();
        Assert.Equal(HttpStatusCode.BadRequest, (await maker.SendAsync(Create(release, "a.wav", 100))).StatusCode);
        var page = await maker.PageAsync($"/workbench/releases/{release}/zip");
        var request = Create(release, "a.wav", 100);
        request.Headers.Add("RequestVerificationToken", page.QuerySelector("input[name=__RequestVerificationToken]")!.GetAttribute("value"));
        Assert.Equal(HttpStatusCode.Created, (await maker.SendAsync(request)).StatusCode);
    }

    private async Task<string> StartedAsync() =>
        (await client.SendAsync(Create(release, "low/ä 1.wav", 100))).Headers.Location!.OriginalString;

    private async Task<string?> OffsetAsync(string url) => (await client.SendAsync(Tus(HttpMethod.Head, url))).Header("Upload-Offset");

#pragma warning disable CA5350 // The protocol asks for SHA-1 against damage on the way; content is addressed by SHA-256.
    private static string Sha1(byte[] bytes) => "sha1 " + Convert.ToBase64String(SHA1.HashData(bytes));
#pragma warning restore CA5350
}
