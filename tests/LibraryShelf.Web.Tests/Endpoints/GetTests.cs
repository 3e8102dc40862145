using System.Net;
using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Endpoints;

public sealed class GetTests
{
    private static string ETag(StockedHost shelf) => $"\"{shelf.RecipeSha256}\"";

    [Fact]
    public async Task The_whole_archive_comes_with_all_a_client_needs()
    {
        await using var shelf = await StockedHost.MakeAsync(5000, 70_000);
        var digest = SHA256.HashData(shelf.Whole);
        await shelf.Host.WithDbAsync(db => db.Archives.ExecuteUpdateAsync(s => s.SetProperty(a => a.Sha256, Convert.ToHexStringLower(digest))));
        var link = await shelf.LinkAsync();
        using var answer = await shelf.GetAsync(link.Path);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Equal(shelf.Whole, await answer.Content.ReadAsByteArrayAsync());
        Assert.Equal(shelf.Whole.Length, answer.Content.Headers.ContentLength);
        Assert.Equal("application/zip", answer.Content.Headers.ContentType!.ToString());
        Assert.Equal(ETag(shelf), answer.Headers.ETag!.ToString());
        Assert.Equal("bytes", answer.Headers.AcceptRanges.ToString());
        Assert.Equal(["no-store", "private"], answer.Headers.CacheControl!.ToString().Split(", ").Order());
        Assert.Equal("no", Assert.Single(answer.Headers.GetValues("X-Accel-Buffering")));
        Assert.Equal("nosniff", Assert.Single(answer.Headers.GetValues("X-Content-Type-Options")));
        Assert.Equal($"sha-256=:{Convert.ToBase64String(digest)}:", Assert.Single(answer.Headers.GetValues("Repr-Digest"))); // RFC 9530 §3
        Assert.Equal(StockedHost.FileName, answer.Content.Headers.ContentDisposition!.FileNameStar);

        await shelf.EventsAsync(link.DownloadId, e => e.Sum(one => one.To - one.From) == shelf.Whole.Length);
        Assert.Equal(shelf.Clock.GetUtcNow(), (await shelf.CountAsync(link.DownloadId))!.FinishedAt);
    }

    [Fact]
    public async Task An_answer_that_throws_is_counted_among_answers()
    {
        await using var shelf = await StockedHost.MakeAsync(5000, 70_000);
        var blobs = shelf.Host.Services.GetRequiredService<Core.Storage.IBlobStore>();
        foreach (var blob in blobs.UntouchedSince(DateTimeOffset.MaxValue).Where(b => b != shelf.RecipeSha256).ToList())
            File.Delete(blobs.LocalPath(blob)!);
        var link = await shelf.LinkAsync();
        var fault = await Record.ExceptionAsync(async () =>
        {
            using var answer = await shelf.GetAsync(link.Path);
            answer.EnsureSuccessStatusCode();
        });
        Assert.IsAssignableFrom<HttpRequestException>(fault);
        await shelf.Host.RunAsync<Core.Statistics.KeepSightings, int>(keep => keep.RunAsync(default));
        Assert.Equal(1, await shelf.Host.AskDbAsync(db => db.Sightings.Where(s => s.Kind == Core.Statistics.SightingKind.Answer).SumAsync(s => s.Times)));
    }

    [Fact]
    public async Task Every_kind_of_range_is_the_slice_of_the_whole()
    {
        await using var shelf = await StockedHost.MakeAsync(new Dictionary<string, string> { ["Shelf:Links:MostDownloads"] = "100" }, 100, 3000);
        var (link, n) = (await shelf.LinkAsync(), shelf.Whole.Length);
        var random = new Random(14);
        var pairs = Enumerable.Range(0, 60).Select(_ => (a: random.Next(n), b: random.Next(n))).Select(p => (from: Math.Min(p.a, p.b), to: Math.Max(p.a, p.b)))
            .Concat([(0, 0), (0, n - 1), (n - 1, n - 1), (0, 40)]);
        foreach (var (from, to) in pairs)
        {
            using var answer = await shelf.GetAsync(link.Path, ("Range", $"bytes={from}-{to}"));
            Assert.Equal(HttpStatusCode.PartialContent, answer.StatusCode);
            Assert.Equal($"bytes {from}-{to}/{n}", answer.Content.Headers.ContentRange!.ToString());
            Assert.Equal(shelf.Whole[from..(to + 1)], await answer.Content.ReadAsByteArrayAsync());
        }
    }

    [Fact]
    public async Task Several_ranges_come_as_parts_in_the_order_asked_for()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var (link, n) = (await shelf.LinkAsync(), shelf.Whole.Length);
        using var answer = await shelf.GetAsync(link.Path, ("Range", "bytes=4000-4099,0-9,-1"));
        Assert.Equal(HttpStatusCode.PartialContent, answer.StatusCode);
        var type = answer.Content.Headers.ContentType!;
        Assert.Equal("multipart/byteranges", type.MediaType);
        Assert.Null(answer.Content.Headers.ContentRange); // RFC 9110 §15.3.7.2: only within the parts
        var body = await answer.Content.ReadAsByteArrayAsync();
        Assert.Equal(body.Length, answer.Content.Headers.ContentLength);
        var boundary = type.Parameters.Single(p => p.Name == "boundary").Value!;
        var parts = Encoding.Latin1.GetString(body).Split($"\r\n--{boundary}");
        Assert.Equal("--\r\n", parts[^1]);
        Assert.Equal(
            [Part(4000, 4099), Part(0, 9), Part(n - 1, n - 1)],
            parts[1..^1].Select(p => p.TrimStart('\r', '\n')));
        await shelf.EventsAsync(link.DownloadId, e => e.Select(one => (one.From, one.To)).SequenceEqual([(4000, 4100), (0, 10), (n - 1, n)]));

        string Part(int from, int to) => $"Content-Type: application/zip\r\nContent-Range: bytes {from}-{to}/{n}\r\n\r\n{Encoding.Latin1.GetString(shelf.Whole[from..(to + 1)])}";
    }

    [Fact]
    public async Task HEAD_a_failed_condition_an_impossible_range_and_a_probe_start_nothing_and_count_for_nothing()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var link = await shelf.LinkAsync();
        using var client = shelf.Client();
        using var request = new HttpRequestMessage(HttpMethod.Head, new Uri(shelf.Address, link.Path));
        request.Headers.TryAddWithoutValidation("Range", "bytes=0-9");
        using var head = await client.SendAsync(request);
        Assert.Equal((HttpStatusCode.OK, shelf.Whole.Length), (head.StatusCode, head.Content.Headers.ContentLength));
        Assert.Equal(ETag(shelf), head.Headers.ETag!.ToString());
        Assert.Empty(await head.Content.ReadAsByteArrayAsync());

        using var notModified = await shelf.GetAsync(link.Path, ("If-None-Match", ETag(shelf)));
        Assert.Equal(HttpStatusCode.NotModified, notModified.StatusCode);
        using var notMatched = await shelf.GetAsync(link.Path, ("If-Match", "\"x\""));
        Assert.Equal(HttpStatusCode.PreconditionFailed, notMatched.StatusCode);
        using var beyond = await shelf.GetAsync(link.Path, ("Range", $"bytes={shelf.Whole.Length}-"));
        Assert.Equal(HttpStatusCode.RequestedRangeNotSatisfiable, beyond.StatusCode);
        Assert.Equal($"bytes */{shelf.Whole.Length}", beyond.Content.Headers.ContentRange!.ToString());
        Assert.All(new[] { notModified, notMatched, beyond }, a => Assert.Empty(a.Content.ReadAsByteArrayAsync().Result));

        Assert.Null((await shelf.DownloadAsync(link.DownloadId)).StartedAt);
        Assert.Null(await shelf.CountAsync(link.DownloadId));

        // IAB Podcast Technical Measurement Guidelines 2.3 §5.5.2: bytes=0-1, HEAD and 304 are 0.
        using (var probe = await shelf.GetAsync(link.Path, ("Range", "bytes=0-1")))
            Assert.Equal((HttpStatusCode.PartialContent, 2), (probe.StatusCode, (await probe.Content.ReadAsByteArrayAsync()).Length));
        await shelf.EventsAsync(link.DownloadId, e => e.Count == 1);
        var probed = (await shelf.CountAsync(link.DownloadId))!;
        Assert.Equal((null, 0, 2L), (probed.StartedAt, probed.Requests, probed.BytesServed));
        Assert.Empty(await CountsAsync());

        shelf.Clock.Advance(TimeSpan.FromMinutes(1));
        using (var whole = await shelf.GetAsync(link.Path))
            Assert.Equal(shelf.Whole, await whole.Content.ReadAsByteArrayAsync());
        using (await shelf.GetAsync(link.Path, ("If-None-Match", ETag(shelf)))) { }
        await shelf.EventsAsync(link.DownloadId, e => e.Sum(one => one.To - one.From) == shelf.Whole.Length + 2);
        Assert.Equal(1, (await shelf.CountAsync(link.DownloadId))!.Requests);
        Assert.Equal($"Free: 1 started, 1 finished, 1 requests, {shelf.Whole.Length + 2} bytes", Assert.Single(await CountsAsync()));

        // COUNTER 5.1 §7.1 counts 200 and 304 of 200, 304, 206, 404, 301. Rejected: here it is 200 and 206, which hand something over; what is no link of the shelf’s is answered with 403, and none with 301.
        using (var part = await shelf.GetAsync(link.Path, ("Range", "bytes=100-199")))
            Assert.Equal(HttpStatusCode.PartialContent, part.StatusCode);
        using (var nowhere = await shelf.GetAsync("/get/nowhere"))
            Assert.Equal(HttpStatusCode.Forbidden, nowhere.StatusCode);
        await shelf.EventsAsync(link.DownloadId, e => e.Sum(one => one.To - one.From) == shelf.Whole.Length + 102);
        Assert.Equal(2, (await shelf.CountAsync(link.DownloadId))!.Requests);

        async Task<List<string>> CountsAsync()
        {
            await shelf.Host.RunAsync<RollUpDays, int>(roll => roll.RunAsync(default));
            return await shelf.Host.AskDbAsync(db => db.DayCounts.AsNoTracking().Select(c => $"{c.By}: {c.Started} started, {c.Finished} finished, {c.Requests} requests, {c.Bytes} bytes").ToListAsync());
        }
    }

    [Fact]
    public async Task A_resume_under_our_tag_proves_what_came_before_and_under_another_gets_the_whole()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var link = await shelf.LinkAsync();
        using (await shelf.GetAsync(link.Path, ("Range", "bytes=0-99"))) { }
        using var changed = await shelf.GetAsync(link.Path, ("Range", "bytes=3000-"), ("If-Range", "\"other\""));
        Assert.Equal((HttpStatusCode.OK, shelf.Whole.Length), (changed.StatusCode, (await changed.Content.ReadAsByteArrayAsync()).Length));

        // As after a kill: the bytes had gone out, the events were not committed.
        await shelf.EventsAsync(link.DownloadId, e => e.Count == 2);
        await shelf.Host.WithDbAsync(db => db.DownloadEvents.ExecuteDeleteAsync());
        using var resumed = await shelf.GetAsync(link.Path, ("Range", "bytes=3000-"), ("If-Range", ETag(shelf)));
        Assert.Equal(shelf.Whole[3000..], await resumed.Content.ReadAsByteArrayAsync());
        await shelf.EventsAsync(link.DownloadId, e => e.Select(one => (one.From, one.To)).SequenceEqual([(0, 3000), (3000, shelf.Whole.Length)]));
        Assert.NotNull((await shelf.CountAsync(link.DownloadId))!.FinishedAt);
    }

    [Fact]
    public async Task A_first_request_can_not_be_a_resume()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var link = await shelf.LinkAsync();
        using (await shelf.GetAsync(link.Path, ("Range", "bytes=3000-"), ("If-Range", ETag(shelf)))) { }
        Assert.Equal(3000, Assert.Single(await shelf.EventsAsync(link.DownloadId, e => e.Count > 0)).From);
    }

    [Fact]
    public async Task A_broken_off_download_counts_what_was_handed_over_and_is_no_error()
    {
        await using var shelf = await StockedHost.MakeAsync(48 << 20);
        var link = await shelf.LinkAsync();
        using (var client = shelf.Client())
        using (var answer = await client.GetAsync(new Uri(shelf.Address, link.Path), HttpCompletionOption.ResponseHeadersRead))
        await using (var stream = await answer.Content.ReadAsStreamAsync())
        {
            var buffer = new byte[4 << 20];
            await stream.ReadExactlyAsync(buffer);
            Assert.Equal(shelf.Whole[..buffer.Length], buffer);
        }
        var events = await shelf.EventsAsync(link.DownloadId, e => e.Count > 0);
        Assert.All(events, e => Assert.InRange(e.To, 1, shelf.Whole.Length - 1));
        Assert.Null((await shelf.CountAsync(link.DownloadId))!.FinishedAt);
        Assert.Empty(shelf.Complained);
    }

    [Fact]
    public async Task A_blob_cut_short_breaks_the_answer_off_rather_than_padding_it()
    {
        await using var shelf = await StockedHost.MakeAsync(3 << 20);
        var link = await shelf.LinkAsync();
        var blob = Directory.EnumerateFiles(Path.Combine(shelf.Host.DataFolder, "blobs"), "*", SearchOption.AllDirectories).MaxBy(f => new FileInfo(f).Length)!;
        File.SetAttributes(blob, FileAttributes.Normal);
        await using (var file = new FileStream(blob, FileMode.Open)) file.SetLength(1 << 20);
        await Assert.ThrowsAnyAsync<HttpRequestException>(() => shelf.GetAsync(link.Path));
        Assert.NotEmpty(shelf.Complained);
    }
}
