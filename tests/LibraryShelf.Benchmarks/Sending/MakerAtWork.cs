using System.Diagnostics;
using System.Net;
using System.Text.RegularExpressions;
using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Benchmarks.Sending;

/// <summary>The maker's own doing: her command line with an upload token, and the seal button in her browser.</summary>
internal sealed partial class MakerAtWork : IDisposable
{
    private static readonly TimeSpan Look = TimeSpan.FromMilliseconds(2);
    private readonly Shelf shelf;
    private readonly ProgramUnderTest server;
    private readonly string cache;
    private readonly HttpClient browser;
    private string token = "";

    /// <param name="shelf">The shelf sent to.</param>
    /// <param name="server">The program that serves it.</param>
    /// <param name="cache">Where `shelf` remembers what it has read.</param>
    public MakerAtWork(Shelf shelf, ProgramUnderTest server, string cache)
    {
        (this.shelf, this.server, this.cache) = (shelf, server, cache);
        browser = new HttpClient(new SocketsHttpHandler { AllowAutoRedirect = false, CookieContainer = new CookieContainer() }) { BaseAddress = shelf.Address };
    }

    public async Task SignInAsync()
    {
        await PressAsync("/workbench/sign-in", "", ("Email", Shelf.MakerEmail), ("Password", Shelf.Password));
        await using var db = shelf.Open();
        token = await new MakeUploadToken(db, TimeProvider.System).RunAsync("bench", CancellationToken.None);
    }

    public async Task<string> AddLibraryAsync(string title)
    {
        await using var db = shelf.Open();
        var added = await new AddLibrary(db, TimeProvider.System).RunAsync(
            new LibraryWords(title, "Decaying noise.", "", "", true, null), null, CancellationToken.None);
        return ((AddLibraryOutcome.Added)added).Slug;
    }

    /// <summary>
    /// Seconds from the start of `shelf send` to the sealed release, and how many of them went by between the wish to check and the checked
    /// release. The words that sealing asks for are written before the clock
    /// starts: they are a person's time, not the shelf's.
    /// </summary>
    public async Task<(double Total, double Check)> SendAndSealAsync(string slug, string folder)
    {
        var release = await StartReleaseAsync(slug);
        var busy = server.CpuSeconds();
        var begun = Stopwatch.GetTimestamp();
        var start = new ProcessStartInfo(Path.Combine(Bench.Cli, "shelf"), ["send", folder, "--to", shelf.Address.ToString(), "--library", slug]);
        start.Environment["SHELF_TOKEN"] = token;
        start.Environment["XDG_CACHE_HOME"] = cache;
        var sending = ProgramUnderTest.Start(start).FinishAsync();
        await using var watch = await ReleaseWatch.OpenAsync(shelf);
        var check = await CheckSecondsAsync(watch, release);
        await sending;
        var sent = Stopwatch.GetElapsedTime(begun).TotalSeconds;
        await PressAsync($"/workbench/releases/{release}/seal", "seal", ("audience", "Free"));
        while ((await watch.LookAsync(release)).SealedAt is null)
            await Task.Delay(Look);
        var total = Stopwatch.GetElapsedTime(begun).TotalSeconds;
        Bench.Say($"sent {sent:0.000} s, of it the check {check:0.000} s, sealed {total - sent:0.000} s after; the server's processor time {server.CpuSeconds() - busy:0.00} s");
        // Its digest is read afterwards and is no part of sealing, but must not run into the next measurement.
        await using var db = shelf.Open();
        while (!await db.Archives.AnyAsync(a => a.ReleaseId == release && a.Sha256 != null))
            await Task.Delay(Look);
        return (total, check);
    }

    /// <summary>Watches the release's row: from the wish to check, which comes when all bytes are here, until it is checked.</summary>
    private static async Task<double> CheckSecondsAsync(ReleaseWatch watch, long release)
    {
        long? asked = null;
        while (true)
        {
            var row = await watch.LookAsync(release);
            if (row.CheckAskedAt is not null)
                asked ??= Stopwatch.GetTimestamp();
            if (row.State == nameof(ReleaseState.Checked))
                return asked is { } from ? Stopwatch.GetElapsedTime(from).TotalSeconds : 0;
            await Task.Delay(Look);
        }
    }

    /// <summary>Seconds until a page is here whole.</summary>
    public async Task<double> LookAsync(string page)
    {
        var begun = Stopwatch.GetTimestamp();
        await browser.GetStringAsync(new Uri(page, UriKind.Relative));
        return Stopwatch.GetElapsedTime(begun).TotalSeconds;
    }

    public void Dispose() => browser.Dispose();

    private async Task<long> StartReleaseAsync(string slug)
    {
        await using var db = shelf.Open();
        var started = (StartReleaseOutcome.Started)await new StartRelease(db, TimeProvider.System).RunAsync(slug, null, CancellationToken.None);
        db.ChangeTracker.Clear();
        await new EditRelease(db).RunAsync(started.ReleaseId,
            new ReleaseWords("Notes.", "CC0-1.0", "", "", [new PlayerWords("Pondskater", "2.3")]), CancellationToken.None);
        return started.ReleaseId;
    }

    /// <summary>Gets the page and presses the form's button whose handler is so named.</summary>
    private async Task PressAsync(string page, string handler, params (string Name, string Value)[] values)
    {
        var html = await browser.GetStringAsync(new Uri(page, UriKind.Relative));
        var fields = values.ToDictionary(v => v.Name, v => v.Value, StringComparer.Ordinal);
        fields["__RequestVerificationToken"] = WebUtility.HtmlDecode(Antiforgery().Match(html).Groups[1].Value);
        var target = handler.Length == 0 ? page : $"{page}?handler={handler}";
        using var press = new HttpRequestMessage(HttpMethod.Post, target) { Content = new FormUrlEncodedContent(fields) };
        press.Headers.Add("Sec-Fetch-Site", "same-origin");
        using var answer = await browser.SendAsync(press);
        if (answer.StatusCode != HttpStatusCode.Redirect && answer.StatusCode != HttpStatusCode.SeeOther)
            throw new InvalidOperationException($"{target} answered {(int)answer.StatusCode}:\n{await answer.Content.ReadAsStringAsync()}");
    }

    [GeneratedRegex("""name="__RequestVerificationToken"[^>]*value="([^"]+)""", RegexOptions.NonBacktracking)]
    private static partial Regex Antiforgery();
}
