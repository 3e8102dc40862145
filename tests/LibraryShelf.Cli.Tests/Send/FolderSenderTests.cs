using System.Text.Json;
using LibraryShelf.Cli.Output;
using LibraryShelf.Cli.Send;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Cli.Tests.Send;

public sealed class FolderSenderTests : IAsyncLifetime, IDisposable
{
    // More than two pieces of 4 MiB, so that a cut has a middle.
    private const int LongBytes = (9 << 20) + 5;
    private readonly SendHost host = new();
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("send-folder-");
    private readonly DirectoryInfo cache = Directory.CreateTempSubdirectory("send-cache-");
    private readonly StringWriter output = new();

    public async Task InitializeAsync()
    {
        await host.SeedAsync();
        var bytes = new byte[LongBytes];
        new Random(7).NextBytes(bytes);
        Write("long.bin", bytes);
        Write("low/a.bin", bytes[..1000]);
        Write("copy of a.bin", bytes[..1000]);
        Write("empty.txt", []);
        Write(".DS_Store", [1]);
    }

    public Task DisposeAsync() => Task.CompletedTask;

    public void Dispose()
    {
        host.Dispose();
        folder.Delete(recursive: true);
        cache.Delete(recursive: true);
        output.Dispose();
    }

    [Fact]
    public async Task A_folder_is_sent_checked_and_the_second_time_nothing_travels()
    {
        var first = await SendAsync(new Line());
        Assert.Equal(("1.0.0", 4, 3, LongBytes + 1000L), (first.Draft.Number, first.Folder.Files.Count, first.SentFiles, first.SentBytes));
        Assert.Equal(["copy of a.bin", "empty.txt", "long.bin", "low/a.bin"], await PathsAsync());
        Assert.NotEqual("draft", first.Standing.State);
        var line = new Line();
        var second = await SendAsync(line);
        Assert.Equal((0, 0L), (second.SentFiles, second.SentBytes));
        Assert.DoesNotContain(line.Requests, r => r.Contains("/uploads", StringComparison.Ordinal));
    }

    [Fact]
    public async Task After_a_cut_only_what_is_missing_is_sent()
    {
        // The second piece arrives, but its answer is lost; then the shelf can't be reached once.
        var line = new Line { LosesAnswerOfPatch = 2, FailsHeads = 1 };
        var sent = await SendAsync(line);
        Assert.Equal(LongBytes + 1000L, sent.SentBytes);
        Assert.Equal(3, line.Requests.Count(r => r.StartsWith("PATCH", StringComparison.Ordinal)));
        Assert.Equal(0, sent.Standing.FilesMissing);
    }

    [Fact]
    public async Task Given_up_and_run_again_it_goes_on_from_there()
    {
        var cut = new Line { FailsPatchesFrom = 2 };
        var fault = await Assert.ThrowsAsync<CouldNotRunException>(() => SendAsync(cut));
        Assert.Contains("run the same command again", fault.Message, StringComparison.Ordinal);
        var line = new Line();
        await SendAsync(line);
        Assert.Equal(2, line.Requests.Count(r => r.StartsWith("PATCH", StringComparison.Ordinal)));
    }

    [Fact]
    public async Task A_wrong_token_is_said_before_anything_is_read()
    {
        File.Delete(Path.Combine(folder.FullName, "long.bin"));
        var fault = await Assert.ThrowsAsync<CouldNotRunException>(() => SendAsync(new Line(), token: "another"));
        Assert.Contains("does not know this upload token", fault.Message, StringComparison.Ordinal);
        Assert.DoesNotContain("another", fault.Message, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_token_goes_to_the_shelf_alone()
    {
        var line = new Line { MovesUploadsTo = "https://elsewhere.example/uploads/x" };
        var fault = await Assert.ThrowsAsync<CouldNotRunException>(() => SendAsync(line));
        Assert.Contains("elsewhere.example", fault.Message, StringComparison.Ordinal);
        Assert.DoesNotContain(line.Requests, r => r.Contains("elsewhere", StringComparison.Ordinal));
    }

    [Fact]
    public async Task A_changed_file_is_read_again()
    {
        await SendAsync(new Line());
        var path = Path.Combine(folder.FullName, "low", "a.bin");
        await File.WriteAllBytesAsync(path, new byte[1000]);
        var again = await SendAsync(new Line());
        Assert.Equal(1000, again.SentBytes);
    }

    [Fact]
    public async Task What_a_folder_holds_no_more_is_forgotten_and_so_are_folders_long_not_sent()
    {
        await SendAsync(new Line());
        var memory = Assert.Single(Directory.GetFiles(Path.Combine(cache.FullName, "hashes")));
        Assert.Contains("/low/a.bin", await File.ReadAllTextAsync(memory), StringComparison.Ordinal);
        File.Delete(Path.Combine(folder.FullName, "low", "a.bin"));
        var forgotten = Path.Combine(cache.FullName, "hashes", "another.json");
        await File.WriteAllTextAsync(forgotten, "{}");
        File.SetLastWriteTimeUtc(forgotten, new DateTime(2020, 1, 1, 0, 0, 0, DateTimeKind.Utc));
        await SendAsync(new Line());
        Assert.Equal(memory, Assert.Single(Directory.GetFiles(Path.Combine(cache.FullName, "hashes"))));
        Assert.DoesNotContain("/low/a.bin", await File.ReadAllTextAsync(memory), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_json_names_its_schema_and_the_code_says_whether_something_was_found()
    {
        var sent = await SendAsync(new Line());
        var console = new ShelfConsole(output, TextWriter.Null, errorIsTerminal: false);
        var code = SendReport.Print(console, sent, json: true);
        using var json = JsonDocument.Parse(output.ToString());
        Assert.Equal("libraryshelf/send/1", json.RootElement.GetProperty("schema").GetString());
        Assert.Equal(LongBytes + 1000L, json.RootElement.GetProperty("sentBytes").GetInt64());
        var mustFix = json.RootElement.GetProperty("findings").EnumerateArray().Any(f => f.GetProperty("severity").GetString() == "must-fix");
        Assert.Equal(mustFix ? 1 : 0, code);
    }

    [Theory]
    [InlineData("shelf.example")]
    [InlineData("ftp://shelf.example")]
    public void An_address_that_can_not_be_is_refused(string to) =>
        Assert.Throws<CouldNotRunException>(() => SendOrder.Read(".", to, "kettle", null, "token"));

    private async Task<Sent> SendAsync(Line line, string token = SendHost.Token)
    {
        var console = new ShelfConsole(TextWriter.Null, TextWriter.Null, errorIsTerminal: false);
        line.InnerHandler = host.Server.CreateHandler();
        using var http = new HttpClient(line);
        var clock = new HastyClock();
        var memory = new HashMemory(Path.Combine(cache.FullName, "hashes"), folder.FullName, clock);
        var order = SendOrder.Read(folder.FullName, "http://localhost", "kettle", null, token);
        return await new FolderSender(console, http, memory, clock).RunAsync(order, CancellationToken.None);
    }

    private Task<List<string>> PathsAsync() => host.AskDbAsync(db => db.ReleaseFiles.Select(f => f.Path).OrderBy(p => p).ToListAsync());

    private void Write(string path, byte[] bytes)
    {
        var full = Path.Combine(folder.FullName, path);
        Directory.CreateDirectory(Path.GetDirectoryName(full)!);
        File.WriteAllBytes(full, bytes);
        // Old enough to be remembered.
        File.SetLastWriteTimeUtc(full, new DateTime(2026, 3, 1, 0, 0, 0, DateTimeKind.Utc));
    }

    /// <summary>The line between command and shelf: notes each request and fails where it is told to.</summary>
    private sealed class Line : DelegatingHandler
    {
        private int patches;
        private int heads;

        public List<string> Requests { get; } = [];
        public int LosesAnswerOfPatch { get; init; }
        public int FailsPatchesFrom { get; init; } = int.MaxValue;
        public int FailsHeads { get; init; }
        public string? MovesUploadsTo { get; init; }

        protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
        {
            lock (Requests)
                Requests.Add($"{request.Method} {request.RequestUri}");
            if (request.Method == HttpMethod.Head && ++heads <= FailsHeads)
                throw new HttpRequestException("no route");
            var patch = request.Method == HttpMethod.Patch ? Interlocked.Increment(ref patches) : 0;
            if (patch >= FailsPatchesFrom)
                throw new HttpRequestException("cut");
            var answer = await base.SendAsync(request, cancellationToken);
            if (patch > 0 && patch == LosesAnswerOfPatch)
                throw new HttpRequestException("cut");
            if (MovesUploadsTo is not null && answer.Headers.Location is not null)
                answer.Headers.Location = new Uri(MovesUploadsTo);
            return answer;
        }
    }

    /// <summary>The machine's time, with waits a hundred times shorter.</summary>
    private sealed class HastyClock : TimeProvider
    {
        public override ITimer CreateTimer(TimerCallback callback, object? state, TimeSpan dueTime, TimeSpan period) =>
            base.CreateTimer(callback, state, dueTime > TimeSpan.Zero ? dueTime / 100 : dueTime, period);
    }
}
