using System.Collections.Concurrent;
using System.Net;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Archives;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>The whole host on a real socket, with one published box: what a client on the wire meets.</summary>
public sealed class StockedHost : IAsyncDisposable
{
    public const string FileName = "Flügel & Tin 1.0.0.zip";
    private readonly Complaints _complaints = new();

    public FakeTimeProvider Clock { get; } = new(new DateTimeOffset(2026, 11, 25, 12, 0, 0, TimeSpan.Zero));
    public ShelfHost Host { get; }
    public byte[] Whole { get; private set; } = [];
    public string RecipeSha256 { get; private set; } = "";
    public long ReleaseId { get; private set; }
    public Uri Address { get; }
    public IReadOnlyCollection<string> Complained => _complaints.Lines;

    private StockedHost(Dictionary<string, string> settings, Action<IServiceCollection>? replace)
    {
        Host = new ShelfHost
        {
            Clock = Clock, Settings = settings, Replace = services =>
            {
                services.AddLogging(l => l.AddProvider(_complaints));
                replace?.Invoke(services);
            },
        };
        Host.UseKestrel(k => k.Listen(IPAddress.Loopback, 0));
        Host.StartServer();
        Address = Host.ClientOptions.BaseAddress;
    }

    /// <param name="blobBytes">Sizes of the archive's files.</param>
    public static Task<StockedHost> MakeAsync(params int[] blobBytes) => MakeAsync(new Dictionary<string, string>(), blobBytes);

    public static Task<StockedHost> MakeAsync(Dictionary<string, string> settings, params int[] blobBytes) => MakeAsync(settings, null, blobBytes);

    public static async Task<StockedHost> MakeAsync(Dictionary<string, string> settings, Action<IServiceCollection>? replace, params int[] blobBytes)
    {
        var stocked = new StockedHost(settings, replace);
        await stocked.Host.ClaimAsync();
        await stocked.StockAsync(blobBytes);
        return stocked;
    }

    /// <summary>A client with no cookies that follows nothing.</summary>
    public HttpClient Client() => new(new SocketsHttpHandler { UseCookies = false, AllowAutoRedirect = false }) { BaseAddress = Address };

    public async Task<MakeLinkOutcome.Made> LinkAsync(long? personId = null) => Assert.IsType<MakeLinkOutcome.Made>(
        await Host.RunAsync<MakeLink, MakeLinkOutcome>(make => make.RunAsync(ReleaseId, personId, null, default)));

    public async Task<HttpResponseMessage> GetAsync(string path, params (string Name, string Value)[] fields)
    {
        using var client = Client();
        using var request = new HttpRequestMessage(HttpMethod.Get, new Uri(Address, path));
        foreach (var (name, value) in fields) Assert.True(request.Headers.TryAddWithoutValidation(name, value));
        var answer = await client.SendAsync(request);
        await answer.Content.LoadIntoBufferAsync();
        return answer;
    }

    public Task<Download> DownloadAsync(string id) => Host.AskDbAsync(db => db.Downloads.AsNoTracking().SingleAsync(d => d.Id == id));

    /// <summary>Waits until the events of a download satisfy the condition: they are written a moment after the answer ends.</summary>
    public async Task<List<DownloadEvent>> EventsAsync(string downloadId, Func<List<DownloadEvent>, bool> until)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(30));
        while (true)
        {
            var events = await Host.AskDbAsync(db => db.DownloadEvents.AsNoTracking().Where(e => e.DownloadId == downloadId).ToListAsync());
            if (until(events)) return events;
            await Task.Delay(TimeSpan.FromMilliseconds(20), TimeProvider.System, patience.Token);
        }
    }

    public async Task<DownloadTally?> CountAsync(string downloadId)
    {
        await Host.RunAsync<CountDownloads, int>(count => count.RunAsync(default));
        return await Host.AskDbAsync(db => db.DownloadTallies.AsNoTracking().SingleOrDefaultAsync(t => t.DownloadId == downloadId));
    }

    public ValueTask DisposeAsync() => Host.DisposeAsync();

    private async Task StockAsync(int[] blobBytes)
    {
        var blobs = Host.Services.GetRequiredService<IBlobStore>();
        var random = new Random(9110);
        var entries = new List<RecipeEntry> { RecipeEntry.FromBytes("INSTALL.txt", "Unzip it.\n"u8.ToArray()) };
        foreach (var (size, i) in blobBytes.Select((s, i) => (s, i)))
        {
            var bytes = new byte[size];
            random.NextBytes(bytes);
            using var stream = new MemoryStream(bytes);
            var stored = await blobs.PutAsync(stream, default);
            entries.Add(RecipeEntry.FromBlob($"Samples/{i}.wav", size, stored.Crc32, stored.Sha256));
        }
        var recipe = new Recipe("Flügel & Tin", Recipe.Undated, entries);
        using var canonical = new MemoryStream(recipe.CanonicalBytes.ToArray());
        RecipeSha256 = (await blobs.PutAsync(canonical, default)).Sha256;
        using var whole = new MemoryStream();
        var layout = new ArchiveLayout(recipe);
        await ArchiveWriter.WriteAsync(layout, blobs.Open, whole, 0, layout.Length, default);
        Whole = whole.ToArray();
        await Host.WithDbAsync(AddRowsAsync);
    }

    private async Task AddRowsAsync(Core.Data.ShelfDb db)
    {
        var now = Clock.GetUtcNow();
        var library = new Library { Slug = "fluegel-and-tin", Title = "Flügel & Tin", CreatedAt = now };
        library.Audiences.Add(new AudienceDecision { Audience = Audience.Free, DecidedAt = now });
        var release = new Release { Number = "1.0.0", CreatedAt = now };
        foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published }) Assert.True(release.MoveTo(state, now));
        library.Releases.Add(release);
        db.Libraries.Add(library);
        await db.SaveChangesAsync();
        ReleaseId = release.Id;
        db.Archives.Add(new Archive { ReleaseId = ReleaseId, RecipeSha256 = RecipeSha256, Length = Whole.Length, FileName = FileName, CreatedAt = now });
        await db.SaveChangesAsync();
    }

    /// <summary>Keeps what the host logs as an error, to see that a broken-off download is none, and warnings that name a setting.</summary>
    private sealed class Complaints : ILoggerProvider, ILogger
    {
        public ConcurrentQueue<string> Lines { get; } = new();

        public ILogger CreateLogger(string categoryName) => this;

        public IDisposable? BeginScope<TState>(TState state) where TState : notnull => null;

        public bool IsEnabled(LogLevel logLevel) => logLevel >= LogLevel.Warning;

        public void Log<TState>(LogLevel logLevel, EventId eventId, TState state, Exception? exception, Func<TState, Exception?, string> formatter)
        {
            if (logLevel >= LogLevel.Error || formatter(state, exception).Contains("Shelf:", StringComparison.Ordinal)) Lines.Enqueue(formatter(state, exception) + " " + exception);
        }

        public void Dispose() { }
    }
}
