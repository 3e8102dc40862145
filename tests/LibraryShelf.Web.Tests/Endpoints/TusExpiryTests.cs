using System.Globalization;
using System.Net;
using LibraryShelf.Core.Intake;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;
using static LibraryShelf.Web.Tests.Endpoints.SendBench;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>
/// tus 1.0.0, expiration (protocol.md): Upload-Expires in the answer to POST and in every answer to PATCH while the upload would
/// expire, in the form of RFC 7231 (now RFC 9110, 5.6.7); afterwards 404 or 410. What is said is what the sweep does.
/// </summary>
public sealed class TusExpiryTests : IAsyncLifetime, IDisposable
{
    private static readonly byte[] Hundred = [.. Enumerable.Range(0, 100).Select(i => (byte)i)];
    private readonly FakeTimeProvider clock = new(TimeProvider.System.GetUtcNow());
    private readonly ShelfHost host;
    private HttpClient client = null!;
    private long release;

    public TusExpiryTests() => host = new ShelfHost { Clock = clock };

    public async Task InitializeAsync()
    {
        release = await host.OpenDraftAsync();
        client = host.Sender();
    }

    public Task DisposeAsync() => Task.CompletedTask;

    public void Dispose() => host.Dispose();

    [Fact]
    public async Task Each_answer_says_until_when()
    {
        var created = await client.SendAsync(Create(release, "a.wav", 100));
        Assert.Equal(clock.GetUtcNow().AddDays(7), ExpiresOf(created)!.Value, TimeSpan.FromSeconds(1));
        var url = created.Headers.Location!.OriginalString;
        Assert.NotNull(ExpiresOf(await client.SendAsync(Patch(url, 0, Hundred[..70]))));
        Assert.NotNull(ExpiresOf(await client.SendAsync(Tus(HttpMethod.Head, url))));
        // Refused pieces too: it still stands.
        Assert.NotNull(ExpiresOf(await client.SendAsync(Patch(url, 60, Hundred[60..]))));
        Assert.NotNull(ExpiresOf(await client.SendAsync(Patch(url, 70, Hundred[70..], ("Upload-Checksum", "sha1 AAAA")))));
        // Finished, it expires no more.
        Assert.Null(ExpiresOf(await client.SendAsync(Patch(url, 70, Hundred[70..]))));
        Assert.Null(ExpiresOf(await client.SendAsync(Tus(HttpMethod.Head, url))));
    }

    [Fact]
    public async Task At_the_instant_said_it_is_taken_and_a_second_later_it_is_gone()
    {
        var url = (await client.SendAsync(Create(release, "a.wav", 100))).Headers.Location!.OriginalString;
        var said = ExpiresOf(await client.SendAsync(Patch(url, 0, Hundred[..70])))!.Value;

        clock.Advance(said - clock.GetUtcNow());
        Assert.Equal(0, await SweepAsync());
        Assert.Equal("70", (await client.SendAsync(Tus(HttpMethod.Head, url))).Header("Upload-Offset"));

        clock.Advance(TimeSpan.FromSeconds(1));
        var patched = await client.SendAsync(Patch(url, 70, Hundred[70..]));
        Assert.Equal(HttpStatusCode.Gone, patched.StatusCode);
        Assert.Contains("given up", await patched.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.Equal((HttpStatusCode.Gone, null), await HeadAsync(url));
        Assert.Equal(1, await SweepAsync());
        Assert.Equal((HttpStatusCode.NotFound, null), await HeadAsync(url));
        Assert.Empty(Directory.GetFiles(Path.Combine(host.DataFolder, "uploads")));
    }

    [Fact]
    public async Task Rows_of_finished_uploads_go_after_as_long()
    {
        var url = (await client.SendAsync(Create(release, "a.wav", 100))).Headers.Location!.OriginalString;
        await client.SendAsync(Patch(url, 0, Hundred));
        clock.Advance(TimeSpan.FromDays(7));
        Assert.Equal(0, await SweepAsync());
        Assert.Equal("100", (await client.SendAsync(Tus(HttpMethod.Head, url))).Header("Upload-Offset"));
        clock.Advance(TimeSpan.FromSeconds(1));
        Assert.Equal(1, await SweepAsync());
        Assert.Equal(1, await host.AskDbAsync(db => db.ReleaseFiles.CountAsync()));
    }

    private async Task<(HttpStatusCode, string?)> HeadAsync(string url)
    {
        var answer = await client.SendAsync(Tus(HttpMethod.Head, url));
        return (answer.StatusCode, answer.Header("Upload-Offset"));
    }

    private Task<int> SweepAsync() => host.RunAsync(async (SweepUploads sweep) => (await sweep.RunAsync(CancellationToken.None)).Removed);

    private static DateTimeOffset? ExpiresOf(HttpResponseMessage answer) => answer.Header("Upload-Expires") is { } text
        ? DateTimeOffset.ParseExact(text, "ddd, dd MMM yyyy HH:mm:ss 'GMT'", CultureInfo.InvariantCulture, DateTimeStyles.AssumeUniversal)
        : null;
}
