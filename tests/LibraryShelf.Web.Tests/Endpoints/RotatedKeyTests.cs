using System.Net;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;

namespace LibraryShelf.Web.Tests.Endpoints;

public sealed class RotatedKeyTests
{
    private static readonly TimeSpan LongestLife =
        TimeSpan.FromMinutes(LinkSettings.MaxStartMinutes) + TimeSpan.FromHours(LinkSettings.MaxResumeHours);

    private static Task<int> RotateAsync(StockedHost shelf) => shelf.Host.RunAsync<RotateLinkKey, int>(r => r.RunAsync(default));

    [Fact]
    public async Task A_download_in_progress_goes_on_over_rotations_and_is_refused_when_its_time_is_over()
    {
        await using var shelf = await StockedHost.MakeAsync(48 << 20, 700);
        var link = await shelf.LinkAsync();
        var got = new byte[9 << 20];
        using (var client = shelf.Client())
        using (var running = await client.GetAsync(new Uri(shelf.Address, link.Path), HttpCompletionOption.ResponseHeadersRead))
        await using (var stream = await running.Content.ReadAsStreamAsync())
        {
            await stream.ReadExactlyAsync(got.AsMemory(0, 4 << 20));
            // The answer that runs does not stop for it.
            await RotateAsync(shelf);
            await stream.ReadExactlyAsync(got.AsMemory(4 << 20));
        }
        for (var i = 0; i < 10; i++) await RotateAsync(shelf);
        shelf.Clock.Advance(TimeSpan.FromHours(20));
        using var rest = await shelf.GetAsync(link.Path, ("Range", $"bytes={got.Length}-"), ("If-Range", $"\"{shelf.RecipeSha256}\""));
        Assert.Equal(HttpStatusCode.PartialContent, rest.StatusCode);
        Assert.Equal(shelf.Whole, got.Concat(await rest.Content.ReadAsByteArrayAsync()).ToArray());
        await shelf.EventsAsync(link.DownloadId, e => e.Exists(one => one.To == shelf.Whole.Length));
        Assert.NotNull((await shelf.CountAsync(link.DownloadId))!.FinishedAt);

        shelf.Clock.Advance(LongestLife);
        using var late = await shelf.GetAsync(link.Path, ("Range", "bytes=0-9"));
        Assert.Equal(HttpStatusCode.Gone, late.StatusCode);
        Assert.Empty(shelf.Complained);
    }

    [Theory]
    [InlineData(false)] // as the shelf logs by its own settings: neither keys nor links
    [InlineData(true)] // with every log open, past the shelf's rules: the keys not even then
    public async Task Keys_are_never_logged(bool everything)
    {
        using var lines = new EveryLine();
        await using var host = new ShelfHost
        {
            Replace = services =>
            {
                services.AddLogging(l => l.AddProvider(lines));
                // After the shelf's own rules, which no setting opens.
                if (everything) services.PostConfigure<LoggerFilterOptions>(o => { o.Rules.Clear(); o.MinLevel = LogLevel.Trace; });
            },
        };
        for (var i = 0; i < 2; i++) await host.RunAsync<RotateLinkKey, int>(r => r.RunAsync(default));
        await host.RunAsync<SweepLinkKeys, bool>(async s => { await s.RunAsync(default); return true; });
        const string link = "/get/AAAAAAAAAAAAAAAAAAAAAA/a.zip?start-by=1&finish-by=2&key=2&sig=secretsecretsecretsecretsecretsecretsecretse";
        using (await host.Visitor().GetAsync(new Uri(link, UriKind.Relative))) { }

        var all = string.Join('\n', lines.Lines);
        Assert.Equal(everything, all.Contains("LinkKeys", StringComparison.Ordinal)); // the statements are there when asked for
        foreach (var secret in await host.AskDbAsync(db => db.LinkKeys.Select(k => k.Secret).ToListAsync()))
        {
            Assert.DoesNotContain(Convert.ToHexString(secret)[..16], all, StringComparison.OrdinalIgnoreCase);
            Assert.DoesNotContain(Convert.ToBase64String(secret)[..12], all, StringComparison.Ordinal);
        }
        if (!everything) Assert.DoesNotContain("secretsecret", all, StringComparison.Ordinal);
    }

    private sealed class EveryLine : ILoggerProvider, ILogger
    {
        public System.Collections.Concurrent.ConcurrentQueue<string> Lines { get; } = new();

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state) where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => true;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter) =>
            Lines.Enqueue(formatter(state, exception) + " " + exception);

        public void Dispose() { }
    }
}
