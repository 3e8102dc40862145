using System.Net;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using static LibraryShelf.Web.Tests.Endpoints.SendBench;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>Two browsers send one upload, or one upload is finished twice: nobody's bytes are lost and the file is right.</summary>
public sealed class TusTwoSendersTests : IAsyncLifetime, IDisposable
{
    private static readonly byte[] Data = [.. Enumerable.Range(0, 200_000).Select(i => (byte)(i * 17 >> 4))];
    private readonly ShelfHost host = new();
    private HttpClient one = null!, other = null!;
    private long release;

    public async Task InitializeAsync()
    {
        release = await host.OpenDraftAsync();
        (one, other) = (host.Sender(), host.Sender());
    }

    public Task DisposeAsync() => Task.CompletedTask;

    public void Dispose() => host.Dispose();

    [Fact]
    public async Task Interleaved_pieces_come_out_right_and_the_late_one_is_told_where_to_go_on()
    {
        var url = await StartedAsync("a.wav");
        var (offset, turn) = (0, 0);
        while (offset < Data.Length)
        {
            var (early, late) = turn++ % 2 == 0 ? (one, other) : (other, one);
            var end = Math.Min(offset + 30_000, Data.Length);
            Assert.Equal(HttpStatusCode.NoContent, (await early.SendAsync(Patch(url, offset, Data[offset..end]))).StatusCode);
            var answer = await late.SendAsync(Patch(url, offset, Data[offset..end]));
            Assert.Equal((HttpStatusCode.Conflict, $"{end}"), (answer.StatusCode, answer.Header("Upload-Offset")));
            Assert.Contains($"{end}", await answer.Content.ReadAsStringAsync(), StringComparison.Ordinal);
            offset = end;
        }
        Assert.Equal(Hash(Data), await HashOfAsync("a.wav"));
    }

    [Fact]
    public async Task While_one_is_writing_the_other_is_told_to_wait_and_loses_nothing()
    {
        var url = await StartedAsync("a.wav");
        using var held = new HeldBody(Data[..100_000]);
        var writing = Patch(url, 0, []);
        writing.Content = held;
        var first = one.SendAsync(writing);
        await UntilWrittenAsync(url);
        var busy = await other.SendAsync(Patch(url, 1, Data[1..2]));
        Assert.Equal(HttpStatusCode.Locked, busy.StatusCode);
        Assert.Contains("Try again", await busy.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        held.Finish();
        Assert.Equal("100000", (await first).Header("Upload-Offset"));
        Assert.Equal(HttpStatusCode.NoContent, (await other.SendAsync(Patch(url, 100_000, Data[100_000..]))).StatusCode);
        Assert.Equal(Hash(Data), await HashOfAsync("a.wav"));
    }

    [Fact]
    public async Task Sent_at_the_same_instant_one_is_taken_and_the_other_goes_on()
    {
        var url = await StartedAsync("a.wav");
        var answers = await Task.WhenAll(Enumerable.Range(0, 8).Select(i => (i % 2 == 0 ? one : other).SendAsync(Patch(url, 0, Data))));
        Assert.Single(answers, a => a.StatusCode == HttpStatusCode.NoContent);
        Assert.All(answers.Where(a => a.StatusCode != HttpStatusCode.NoContent),
            a => Assert.Contains(a.StatusCode, new[] { HttpStatusCode.Conflict, HttpStatusCode.Locked }));
        Assert.Equal($"{Data.Length}", (await other.SendAsync(Tus(HttpMethod.Head, url))).Header("Upload-Offset"));
        Assert.Equal(Hash(Data), await HashOfAsync("a.wav"));
    }

    [Fact]
    public async Task Finished_twice_it_is_there_once()
    {
        var url = await StartedAsync("a.wav", ("sha256", Hash(Data)));
        await one.SendAsync(Patch(url, 0, Data));
        // The answer got lost; the same piece comes again.
        var again = await one.SendAsync(Patch(url, 0, Data));
        Assert.Equal((HttpStatusCode.Conflict, $"{Data.Length}"), (again.StatusCode, again.Header("Upload-Offset")));
        Assert.Equal(HttpStatusCode.NoContent, (await one.SendAsync(Patch(url, Data.Length, []))).StatusCode);
        var head = await one.SendAsync(Tus(HttpMethod.Head, url));
        Assert.Equal($"{Data.Length}", head.Header("Upload-Offset"));
        // A new upload of the same bytes to the same place.
        var anew = Create(release, "a.wav", Data.Length, ("sha256", Hash(Data)));
        anew.Content = Patch("/", 0, Data).Content;
        Assert.Equal(HttpStatusCode.Created, (await one.SendAsync(anew)).StatusCode);
        Assert.Equal((1, 1, 1), await host.AskDbAsync(async db => (await db.Blobs.CountAsync(), await db.ReleaseFiles.CountAsync(), await db.BlobClaims.CountAsync())));
        Assert.Empty(Directory.GetFiles(Path.Combine(host.DataFolder, "uploads")));
    }

    [Fact]
    public async Task The_same_bytes_by_several_uploads_at_once_are_stored_once()
    {
        var answers = await Task.WhenAll(Enumerable.Range(0, 12).Select(async i =>
        {
            var create = Create(release, $"take {i}.wav", Data.Length, i % 3 == 0 ? [] : [("sha256", Hash(Data))]);
            create.Content = Patch("/", 0, Data).Content;
            return await (i % 2 == 0 ? one : other).SendAsync(create);
        }));
        Assert.All(answers, a => Assert.Equal(HttpStatusCode.Created, a.StatusCode));
        Assert.Equal((1, 12), await host.AskDbAsync(async db => (await db.Blobs.CountAsync(), await db.ReleaseFiles.CountAsync(f => f.Sha256 == Hash(Data)))));
        Assert.Equal(Hash(Data), await HashOfAsync("take 11.wav"));
    }

    /// <summary>
    /// Bytes of the upload lie on the disk, so whoever sends has its lease. Asked of the desk, not by sending: a try that comes first takes
    /// the lease away from the sender.
    /// </summary>
    private async Task UntilWrittenAsync(string url)
    {
        var desk = host.Services.GetRequiredService<Core.Intake.UploadDesk>();
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(60));
        while (desk.OffsetOf(url[(url.LastIndexOf('/') + 1)..]) == 0)
            await Task.Delay(20, patience.Token);
    }

    private async Task<string> StartedAsync(string path, params (string, string)[] more) =>
        (await one.SendAsync(Create(release, path, Data.Length, more))).Headers.Location!.OriginalString;

    /// <summary>What the bytes in the store hash to, not what the row says.</summary>
    private async Task<string> HashOfAsync(string path)
    {
        var hash = await host.AskDbAsync(db => db.ReleaseFiles.Where(f => f.Path == path).Select(f => f.Sha256).SingleAsync());
        return Hash(await File.ReadAllBytesAsync(host.Services.GetRequiredService<Core.Storage.IBlobStore>().LocalPath(hash)!));
    }

    /// <summary>A body whose first half is sent at once and whose rest waits to be let go.</summary>
    private sealed class HeldBody : HttpContent
    {
        private readonly byte[] bytes;
        private readonly TaskCompletionSource go = new(TaskCreationOptions.RunContinuationsAsynchronously);

        public HeldBody(byte[] bytes)
        {
            this.bytes = bytes;
            Headers.ContentType = new("application/offset+octet-stream");
        }

        public void Finish() => go.SetResult();

        protected override async Task SerializeToStreamAsync(Stream stream, TransportContext? context)
        {
            await stream.WriteAsync(bytes.AsMemory(0, bytes.Length / 2));
            await stream.FlushAsync();
            await go.Task;
            await stream.WriteAsync(bytes.AsMemory(bytes.Length / 2));
        }

        protected override bool TryComputeLength(out long length)
        {
            length = bytes.Length;
            return true;
        }
    }
}
