using System.Diagnostics;
using System.Net;
using System.Net.Http.Headers;
using System.Security.Cryptography;
using LibraryShelf.Campaigns.Tests.Running;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Campaigns.Tests.Kills;

/// <summary>A box on the shelf with recordings of about these sizes.</summary>
internal abstract class PublishedBoxStep(TrialShelf shelf, string title, params int[] sizes) : KilledStep(shelf, title)
{
    protected long Release { get; private set; }

    protected long Length { get; private set; }

    protected string Sha256 { get; private set; } = "";

    public override async Task SetUpAsync()
    {
        await base.SetUpAsync();
        Release = await Maker.StartReleaseAsync(Slug);
        await Maker.FillAsync(Release, MakeFolder(Slug, (ulong)Slug.Length + 30_000, sizes), asChecked: true);
        await Maker.PublishAsync(Release);
        (Length, Sha256) = await AskAsync(async db =>
        {
            var archive = await db.Archives.SingleAsync(a => a.ReleaseId == Release);
            return (archive.Length, archive.Sha256!);
        });
    }

    /// <summary>What the maker reads under Numbers.</summary>
    protected async Task HoldNumbersAsync(int finished)
    {
        // The day is rolled up after its downloads are counted.
        await Waiting.UntilAsync($"the numbers say {finished} finished", async () =>
            (await AskAsync(db => new ReadNumbers(db, TimeProvider.System).RunAsync(Slug, today => DayRange.Read(null, null, today, 2), CancellationToken.None))).Finished == finished);
        Assert.Equal(finished, await AskAsync(db => db.DownloadTallies.CountAsync(t =>
            t.FinishedAt != null && db.Downloads.Any(d => d.Id == t.DownloadId && d.ReleaseId == Release))));
    }
}

/// <summary>A download in flight, of three of the stretches (16 MiB) in which the account of it is kept: resumed by If-Range after the kill, it is whole, and finished once.</summary>
internal sealed class Downloaded(TrialShelf shelf) : PublishedBoxStep(shelf, "Downloaded Box", [.. Enumerable.Repeat(6_000_000, 8)]), IDisposable
{
    private static readonly TimeSpan Breath = TimeSpan.FromMilliseconds(4);
    private const int Sip = 1 << 20;

    private Uri link = null!;
    private readonly MemoryStream got = new();
    /// <summary>
    /// What may go by between the last byte and its event's being written: events gather for 20 ms; the rest is for two busy processors.
    /// </summary>
    private static readonly TimeSpan LastMoments = TimeSpan.FromSeconds(1);

    private EntityTagHeaderValue? tag;
    private long lastByteAt;
    private int whole;

    public override async Task MakeReadyAsync(int point)
    {
        // Each point is another person: the same one twice within half a minute counts once.
        Shelf.Visitor.DefaultRequestHeaders.UserAgent.ParseAdd($"Trial/{point}");
        link = await PublishedArchive.LinkAsync(Shelf, Slug, Release);
        Shelf.Visitor.DefaultRequestHeaders.UserAgent.Clear();
        got.SetLength(0);
        tag = null;
    }

    /// <summary>Slow enough that the kill finds it under way.</summary>
    public override async Task BeginAsync()
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, link);
        using var answer = await Shelf.Visitor.SendAsync(request, HttpCompletionOption.ResponseHeadersRead);
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        tag = answer.Headers.ETag;
        await using var body = await answer.Content.ReadAsStreamAsync();
        var sip = new byte[Sip];
        for (int read; (read = await body.ReadAsync(sip)) > 0;)
        {
            got.Write(sip, 0, read);
            lastByteAt = Stopwatch.GetTimestamp();
            await Task.Delay(Breath);
        }
    }

    public override Task<bool> IsOverAsync() => Task.FromResult(got.Length == Length);

    /// <summary>
    /// Documented (docs/counting.md): what was handed over within the last moments before a kill is proved only by a resume, and who
    /// has all the bytes resumes no more. Then, and only then, a finished download may be missing.
    /// </summary>
    public override async Task LookAsync(ShelfDb db)
    {
        var id = IdOf(link);
        var isKept = (await db.DownloadEvents.Where(e => e.DownloadId == id).ToListAsync()).Exists(e => e.To == Length);
        var between = Stopwatch.GetElapsedTime(lastByteAt, KilledAt);
        // A measuring run kills when the step is over, by then the event may be on its way still.
        Assert.True(got.Length < Length || isKept || KilledAt == 0 || between < LastMoments, $"the last byte had arrived {between.TotalMilliseconds:0} ms before the kill, and its event is not kept");
        whole += got.Length < Length || isKept ? 1 : 0;
    }

    public override async Task GoOnAsync()
    {
        if (got.Length < Length)
            await ResumeAsync();
        Assert.Equal(Sha256, Convert.ToHexStringLower(SHA256.HashData(got.ToArray())));
        await Waiting.UntilAsync($"{whole} downloads are finished", () => AskAsync(async db =>
            await db.DownloadTallies.CountAsync(t => t.FinishedAt != null && db.Downloads.Any(d => d.Id == t.DownloadId && d.ReleaseId == Release)) >= whole));
        await HoldNumbersAsync(whole);
    }

    public void Dispose() => got.Dispose();

    private async Task ResumeAsync()
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, link);
        if (got.Length > 0)
        {
            request.Headers.Range = new RangeHeaderValue(got.Length, null);
            request.Headers.IfRange = new RangeConditionHeaderValue(tag!);
        }
        using var answer = await Shelf.Visitor.SendAsync(request);
        Assert.Equal(got.Length > 0 ? HttpStatusCode.PartialContent : HttpStatusCode.OK, answer.StatusCode);
        await answer.Content.CopyToAsync(got);
    }

    /// <summary>Of /get/{id}/{name}?…</summary>
    private static string IdOf(Uri link) => link.OriginalString.Split('/')[2];
}

/// <summary>The count of many events that stand uncounted.</summary>
internal sealed class Counted(TrialShelf shelf) : PublishedBoxStep(shelf, "Counted Box", 100_000, 100_000)
{
    private const int Downloads = 150, Stretches = 30;
    private int finished;

    public override async Task MakeReadyAsync(int point)
    {
        await using var db = Shelf.Open();
        var now = TimeProvider.System.GetUtcNow();
        var archive = await db.Archives.SingleAsync(a => a.ReleaseId == Release);
        var libraryId = await db.Releases.Where(r => r.Id == Release).Select(r => r.LibraryId).SingleAsync();
        var ids = Enumerable.Range(0, Downloads).Select(n => $"campaign-{point:000}-{n:000000000}"[..22]).ToList();
        db.Downloads.AddRange(ids.Select(id => new Download
        {
            Id = id, ArchiveId = archive.Id, ReleaseId = Release, LibraryId = libraryId, Why = MayDownloadWhy.Free,
            MadeAt = now, StartBy = now, FinishBy = now, StartedAt = now,
        }));
        // Stretch by stretch through all downloads, so that every page of the count meets every download. Every other one lacks a byte.
        for (var stretch = 0; stretch < Stretches; stretch++)
            for (var n = 0; n < Downloads; n++)
                db.DownloadEvents.Add(new DownloadEvent
                {
                    DownloadId = ids[n], From = Length * stretch / Stretches,
                    To = (Length * (stretch + 1) / Stretches) - (n % 2 == 1 && stretch == n % Stretches ? 1 : 0), At = now,
                });
        await db.SaveChangesAsync();
        finished += Downloads / 2;
    }

    /// <summary>One byte of one download wakes the count of them all.</summary>
    public override async Task BeginAsync()
    {
        using var request = new HttpRequestMessage(HttpMethod.Get, await PublishedArchive.LinkAsync(Shelf, Slug, Release));
        request.Headers.Range = new RangeHeaderValue(0, 0);
        using var answer = await Shelf.Visitor.SendAsync(request);
        Assert.Equal(HttpStatusCode.PartialContent, answer.StatusCode);
    }

    public override Task<bool> IsOverAsync() => AskAsync(async db =>
        !await db.DownloadEvents.AnyAsync(e => !db.DownloadTallies.Any(t => t.DownloadId == e.DownloadId && t.LastEventId >= e.Id)));

    /// <summary>What the tallies must be, the promises say: each equals a recount up to the last event it took in.</summary>
    public override Task LookAsync(ShelfDb db) => Task.CompletedTask;

    public override async Task GoOnAsync()
    {
        await Waiting.UntilAsync("all is counted", IsOverAsync);
        await HoldNumbersAsync(finished);
    }
}
