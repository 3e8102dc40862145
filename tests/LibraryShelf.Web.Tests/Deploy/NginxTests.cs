using System.Net;
using System.Net.Http.Headers;
using System.Security.Cryptography;
using System.Text.RegularExpressions;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Tests.Doors;
using LibraryShelf.Web.Tests.Endpoints;

namespace LibraryShelf.Web.Tests.Deploy;

/// <summary>The shelf as people meet it: behind the nginx of deploy/, over TLS.</summary>
public sealed partial class NginxTests
{
    [Fact]
    public async Task A_download_through_it_is_whole_counted_and_logged_without_its_right()
    {
        await using var shelf = await StockedHost.MakeAsync(5 << 20, 700);
        await using var nginx = await NginxInFront.StartAsync(shelf.Address);
        using var client = nginx.Client();
        var link = await shelf.LinkAsync();
        using var whole = await client.GetAsync(new Uri(nginx.Address, link.Path));
        Assert.Equal(HttpStatusCode.OK, whole.StatusCode);
        Assert.Equal(SHA256.HashData(shelf.Whole), SHA256.HashData(await whole.Content.ReadAsByteArrayAsync()));

        await shelf.EventsAsync(link.DownloadId, e => e.Exists(one => one.To == shelf.Whole.Length));
        var tally = await shelf.CountAsync(link.DownloadId);
        Assert.Equal(shelf.Whole.Length, tally!.BytesCovered);
        Assert.NotNull(tally.FinishedAt);

        var logged = await LoggedAsync(nginx, link.DownloadId);
        Assert.Contains($"\"GET /get/{link.DownloadId}/", logged, StringComparison.Ordinal);
        Assert.DoesNotContain("sig=", logged, StringComparison.Ordinal);
        Assert.DoesNotContain(link.Path[(link.Path.LastIndexOf('=') + 1)..], logged, StringComparison.Ordinal);
    }

    [Fact]
    public async Task When_the_shelf_is_away_no_right_is_written_down()
    {
        string[] rights = ["0123456789abcdefghijABCDEFGHIJ0123456789abc", "one-time-token-of-a-mailed-link-to-sign-in-x"];
        // Nobody listens there: what every restart under a download looks like from here.
        await using var nginx = await NginxInFront.StartAsync(new Uri($"http://127.0.0.1:{NginxInFront.FreePort()}"));
        using var client = nginx.Client();
        foreach (var path in new[] { $"/get/AAAAAAAAAAAAAAAAAAAAAA/Tin.zip?sig={rights[0]}", $"/sign-in/{rights[1]}", $"/Sign-In/{rights[1]}", $"/address/{rights[1]}", $"/leave/{rights[1]}", $"/join/done/{rights[1]}", $"/workbench/claim/{rights[1]}.", $"/get/AAAAAAAAAAAAAAAAAAAAAA/Tin.zip%3Fsig={rights[0]}", $"/wait/AAAAAAAAAAAAAAAAAAAAAA/Tin.zip?sig={rights[0]}", $"/wait/AAAAAAAAAAAAAAAAAAAAAA/Tin.zip%3Fsig={rights[0]}", $"/Wait/AAAAAAAAAAAAAAAAAAAAAA/Tin.zip%3Fsig={rights[0]}", $"/workbench/recover/{rights[1]}/" })
        {
            using var answer = await client.GetAsync(new Uri(nginx.Address, path));
            Assert.Equal(HttpStatusCode.BadGateway, answer.StatusCode);
        }
        var logged = await LoggedAsync(nginx, "/workbench/recover/-");
        foreach (var file in new[] { nginx.ErrorLogFile, nginx.OwnErrorLogFile })
            logged += await File.ReadAllTextAsync(file);
        Assert.Contains("/get/AAAAAAAAAAAAAAAAAAAAAA/", logged, StringComparison.Ordinal);
        Assert.Contains("/wait/AAAAAAAAAAAAAAAAAAAAAA/", logged, StringComparison.Ordinal);
        Assert.All(rights, right => Assert.DoesNotContain(right, logged, StringComparison.Ordinal));
    }

    [Fact]
    public async Task An_upload_reaches_the_shelf_while_it_is_still_being_sent()
    {
        await using var shelf = await StockedHost.MakeAsync(1 << 20);
        Assert.True(await ArrivesAsync(shelf, "proxy_request_buffering off;", TimeSpan.FromSeconds(60)));
        // The control: with nginx's own way nothing comes before all has come, so that a cut line loses all of it.
        Assert.False(await ArrivesAsync(shelf, "proxy_request_buffering on;", TimeSpan.FromSeconds(3)));
    }

    /// <summary>Whether half of a body that is not ended is seen at the shelf within this time.</summary>
    private static async Task<bool> ArrivesAsync(StockedHost shelf, string uploads, TimeSpan patience)
    {
        await using var nginx = await NginxInFront.StartAsync(shelf.Address, uploads: uploads);
        using var client = nginx.Client();
        var token = await shelf.Host.RunAsync<MakeUploadToken, string>(make => make.RunAsync("nginx", default));
        var id = await BegunAsync(shelf, client, token, 8 << 20);
        using var enough = new CancellationTokenSource();
        using var piece = new HttpRequestMessage(HttpMethod.Patch, new Uri(nginx.Address, $"/uploads/{id}"))
        {
            Content = new HalfBody(8 << 20, enough.Token),
            Headers = { { "Tus-Resumable", "1.0.0" }, { "Upload-Offset", "0" }, { "Authorization", $"Bearer {token}" } },
        };
        var sending = client.SendAsync(piece, enough.Token);
        using var until = new CancellationTokenSource(patience);
        while (Bytes() < 1 << 20 && !until.IsCancellationRequested)
            await Task.WhenAny(Task.Delay(20, CancellationToken.None), sending);
        var arrived = Bytes() >= 1 << 20;
        await enough.CancelAsync();
        await sending.ContinueWith(_ => { }, TaskScheduler.Default);
        return arrived;

        long Bytes() => new FileInfo(Path.Combine(shelf.Host.DataFolder, "uploads", id)) is { Exists: true } file ? file.Length : 0;
    }

    private static async Task<string> BegunAsync(StockedHost shelf, HttpClient client, string token, int length)
    {
        var started = await shelf.Host.RunAsync<StartRelease, StartReleaseOutcome>(start => start.RunAsync("fluegel-and-tin", null, default));
        var release = started is StartReleaseOutcome.AlreadyOpen open ? open.ReleaseId : Assert.IsType<StartReleaseOutcome.Started>(started).ReleaseId;
        using var create = new HttpRequestMessage(HttpMethod.Post, "/uploads")
        {
            Headers =
            {
                { "Tus-Resumable", "1.0.0" }, { "Authorization", $"Bearer {token}" }, { "Upload-Length", $"{length}" },
                { "Upload-Metadata", $"release {Base64($"{release}")},path {Base64("A.wav")},kind {Base64("file")}" },
            },
        };
        using var created = await client.SendAsync(create);
        Assert.Equal(HttpStatusCode.Created, created.StatusCode);
        return created.Headers.Location!.OriginalString.Split('/')[^1];
    }

    /// <summary>Promises so many bytes, sends half, and waits until it is given up.</summary>
    private sealed class HalfBody : HttpContent
    {
        private readonly int length;
        private readonly CancellationToken enough;

        public HalfBody(int length, CancellationToken enough)
        {
            (this.length, this.enough) = (length, enough);
            Headers.ContentType = new("application/offset+octet-stream");
        }

        protected override async Task SerializeToStreamAsync(Stream stream, TransportContext? context)
        {
            await stream.WriteAsync(new byte[length / 2], enough);
            await stream.FlushAsync(enough);
            await Task.Delay(Timeout.InfiniteTimeSpan, enough);
        }

        protected override bool TryComputeLength(out long computed)
        {
            computed = length;
            return true;
        }
    }

    [Fact]
    public async Task In_two_halves_it_is_one_download()
    {
        await using var shelf = await StockedHost.MakeAsync(3 << 20);
        await using var nginx = await NginxInFront.StartAsync(shelf.Address);
        using var client = nginx.Client();
        var link = await shelf.LinkAsync();
        var half = shelf.Whole.Length / 2;
        using var first = await RangeAsync(client, nginx, link.Path, 0, half - 1);
        using var second = await RangeAsync(client, nginx, link.Path, half, null);
        Assert.Equal((HttpStatusCode.PartialContent, HttpStatusCode.PartialContent), (first.StatusCode, second.StatusCode));
        byte[] joined = [.. await first.Content.ReadAsByteArrayAsync(), .. await second.Content.ReadAsByteArrayAsync()];
        Assert.Equal(shelf.Whole, joined);
        await shelf.EventsAsync(link.DownloadId, e => e.Exists(one => one.To == shelf.Whole.Length) && e.Exists(one => one.From == 0));
        Assert.NotNull((await shelf.CountAsync(link.DownloadId))!.FinishedAt);
    }

    /// <summary>
    /// A buffering proxy would take the whole archive at once, and all of it would count. Between a shelf and a client that does not
    /// read lie the sockets' buffers on both sides of nginx and nothing else: some megabytes each (tcp_wmem and tcp_rmem of Linux), far
    /// from the 96 MiB of this archive.
    /// </summary>
    [Theory]
    [InlineData("proxy_max_temp_file_size 0;")]
    [InlineData("proxy_max_temp_file_size 1024m;")] // the header alone
    public async Task What_the_client_has_not_taken_is_not_counted(string spilling)
    {
        await using var shelf = await StockedHost.MakeAsync(96 << 20);
        await using var nginx = await NginxInFront.StartAsync(shelf.Address, spilling);
        var link = await shelf.LinkAsync();
        using (var client = nginx.Client())
        using (var answer = await client.GetAsync(new Uri(nginx.Address, link.Path), HttpCompletionOption.ResponseHeadersRead))
        {
            await using var body = await answer.Content.ReadAsStreamAsync();
            await body.ReadExactlyAsync(new byte[64 * 1024]);
        }
        var events = await shelf.EventsAsync(link.DownloadId, e => e.Count > 0);
        Assert.InRange(events.Max(e => e.To), 1, 80 << 20);
        Assert.Null((await shelf.CountAsync(link.DownloadId))!.FinishedAt);
    }

    /// <summary>The control of the test above: an nginx that does not obey the header swallows the whole archive for a client that took nothing.</summary>
    [Fact]
    public async Task A_proxy_that_buffers_would_have_it_counted()
    {
        await using var shelf = await StockedHost.MakeAsync(96 << 20);
        await using var nginx = await NginxInFront.StartAsync(shelf.Address, "proxy_ignore_headers X-Accel-Buffering; proxy_max_temp_file_size 1024m;");
        var link = await shelf.LinkAsync();
        using var client = nginx.Client();
        using var answer = await client.GetAsync(new Uri(nginx.Address, link.Path), HttpCompletionOption.ResponseHeadersRead);
        Assert.NotEmpty(await shelf.EventsAsync(link.DownloadId, e => e.Exists(one => one.To == shelf.Whole.Length)));
    }

    /// <summary>What an address may carry that is no secret; anything else has to be left out of the log. /get/ and /wait/ have tests of their own.</summary>
    private static readonly string[] NoSecrets = ["slug", "month", "number", "id", "code", "sha256", "kind", "link", "path"];

    [Fact]
    public async Task No_token_or_key_in_a_path_is_logged_whichever_page_has_one()
    {
        await using var shelf = await StockedHost.MakeAsync(300);
        await using var nginx = await NginxInFront.StartAsync(shelf.Address);
        using var client = nginx.Client();
        const string secret = "tAbCdEfGhIjKlMnOpQrStUvWxYz0123456789_-aBcD";
        var paths = (await RoutingTable.ReadAsync(shelf.Host.Services)).Select(line => line.Split(' ', '?')[1])
            .Where(path => Parameter().Matches(path).Any(m => !NoSecrets.Contains(m.Groups["name"].Value)))
            .Select(path => Parameter().Replace(path, secret)).Append("/letters/" + secret + "/drop").Append("/follow/" + secret).ToHashSet();
        Assert.Superset(new HashSet<string> { $"/sign-in/{secret}", $"/delete/{secret}", $"/workbench/claim/{secret}" }, paths);
        foreach (var path in paths)
        {
            await client.GetAsync(new Uri(nginx.Address, path));
            await client.GetAsync(new Uri(nginx.Address, path.Replace(secret, "", StringComparison.Ordinal).ToUpperInvariant() + secret));
        }
        await client.GetAsync(new Uri(nginx.Address, "/the-last-one"));
        Assert.DoesNotContain(secret, await LoggedAsync(nginx, "/the-last-one"), StringComparison.Ordinal);
    }

    [GeneratedRegex(@"\{\**(?<name>\w+)[^}]*\}")]
    private static partial Regex Parameter();

    /// <summary>With the unit's own setting, and without it as the control.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Two_visitors_are_counted_as_two_and_https_is_seen(bool isSet)
    {
        var settings = new Dictionary<string, string> { ["Shelf:SignIn:MostTries"] = "5" };
        if (isSet)
            settings["Shelf:BehindProxy"] = UnitTests.Setting("Shelf__BehindProxy");
        await using var shelf = await StockedHost.MakeAsync(settings, 300);
        await using var nginx = await NginxInFront.StartAsync(shelf.Address);
        // Loopback addresses stand for two people's; what they claim themselves is dropped by nginx.
        using var one = nginx.Client(IPAddress.Parse("127.0.0.2"));
        using var other = nginx.Client(IPAddress.Parse("127.0.0.3"));
        one.DefaultRequestHeaders.Add("X-Forwarded-For", "192.0.2.7");
        for (var i = 0; i < 5; i++)
            Assert.Equal(HttpStatusCode.BadRequest, await KnockAsync(one));
        Assert.Equal(HttpStatusCode.TooManyRequests, await KnockAsync(one));
        Assert.Equal(isSet ? HttpStatusCode.BadRequest : HttpStatusCode.TooManyRequests, await KnockAsync(other));
        // The shelf's own address, as it believes it was asked.
        Assert.Equal(isSet, (await other.GetStringAsync(new Uri("/feed.atom", UriKind.Relative))).Contains($"\"{nginx.Address}", StringComparison.Ordinal));
        Assert.Equal(isSet ? 0 : 1, shelf.Complained.Count(line => line.Contains("Shelf:BehindProxy", StringComparison.Ordinal)));

        static async Task<HttpStatusCode> KnockAsync(HttpClient client)
        {
            using var answer = await client.PostAsync(new Uri("/sign-in", UriKind.Relative), new FormUrlEncodedContent([]));
            return answer.StatusCode;
        }
    }

    [Fact]
    public async Task A_large_upload_goes_through_as_it_comes()
    {
        await using var shelf = await StockedHost.MakeAsync(300);
        await using var nginx = await NginxInFront.StartAsync(shelf.Address);
        var token = await shelf.Host.RunAsync<MakeUploadToken, string>(make => make.RunAsync("nginx", default));
        using var client = nginx.Client();
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
        client.DefaultRequestHeaders.Add("Tus-Resumable", "1.0.0");
        var started = await shelf.Host.RunAsync<StartRelease, StartReleaseOutcome>(start => start.RunAsync("fluegel-and-tin", null, default));
        var release = Assert.IsType<StartReleaseOutcome.Started>(started).ReleaseId;
        var bytes = RandomNumberGenerator.GetBytes(12 << 20);
        using var create = new HttpRequestMessage(HttpMethod.Post, new Uri(nginx.Address, "/uploads")) { Content = new ByteArrayContent(bytes) };
        create.Content.Headers.ContentType = new MediaTypeHeaderValue("application/offset+octet-stream");
        create.Headers.Add("Upload-Length", $"{bytes.Length}");
        create.Headers.Add("Upload-Metadata", $"release {Base64($"{release}")},path {Base64("A.wav")},kind {Base64("file")}");
        using var created = await client.SendAsync(create);
        Assert.Equal(HttpStatusCode.Created, created.StatusCode);
        Assert.Equal($"{bytes.Length}", Assert.Single(created.Headers.GetValues("Upload-Offset")));
        // Where the upload is must be an address people outside can reach.
        Assert.StartsWith("/uploads/", created.Headers.Location!.IsAbsoluteUri ? created.Headers.Location.AbsolutePath : created.Headers.Location.OriginalString, StringComparison.Ordinal);
    }

    private static string Base64(string text) => Convert.ToBase64String(System.Text.Encoding.UTF8.GetBytes(text));

    private static Task<HttpResponseMessage> RangeAsync(HttpClient client, NginxInFront nginx, string path, long from, long? to)
    {
        var request = new HttpRequestMessage(HttpMethod.Get, new Uri(nginx.Address, path)) { Headers = { Range = new RangeHeaderValue(from, to) } };
        return client.SendAsync(request);
    }

    /// <summary>nginx writes its line a moment after the answer.</summary>
    private static async Task<string> LoggedAsync(NginxInFront nginx, string words)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(30));
        while (true)
        {
            var log = await File.ReadAllTextAsync(nginx.LogFile, patience.Token);
            if (log.Contains(words, StringComparison.Ordinal))
                return log;
            await Task.Delay(20, patience.Token);
        }
    }
}
