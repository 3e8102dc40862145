using System.Diagnostics;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.RegularExpressions;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// The real program in a process of its own, on a free port and an empty data directory, and a headless Chromium beside it.
/// Everything a test knows of the shelf it learns as a person would: from pages, the printed link and the outbox.
/// </summary>
public sealed partial class RunningShelf : IAsyncLifetime
{
    private static readonly string[] ChromiumArguments =
    [
        "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
    ];

    /// <summary>
    /// How long somebody waits for a condition, which is no measure of how fast anything is: a machine with much else to do takes its time, and there the platform's own 5 s, or
    /// half a minute, are a finding of nothing.
    /// </summary>
    public static readonly TimeSpan LongestWait = TimeSpan.FromMinutes(2);

    static RunningShelf() => Assertions.SetDefaultExpectTimeout((float)LongestWait.TotalMilliseconds);

    /// <summary>Playwright's own program: one for all shelves, which ends with the run.</summary>
    private static readonly Lazy<Task<IPlaywright>> Driver = new(() => Playwright.CreateAsync());

    private readonly StringBuilder _output = new();
    private readonly TaskCompletionSource<Uri> _listening = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private static readonly ConditionalWeakTable<IPage, IResponse> Documents = [];
    private Process? _program;
    private IBrowser? _browser;

    public string DataDirectory { get; } = Directory.CreateTempSubdirectory("shelf-browser-").FullName;
    public Uri Address { get; private set; } = null!;

    /// <summary>Settings of this shelf, as "--Shelf:…=…".</summary>
    public string[] Settings { get; init; } = [];

    public string Output
    {
        get { lock (_output) return _output.ToString(); }
    }

    public async Task InitializeAsync()
    {
        Start();
        _browser = await (await Driver.Value).Chromium.LaunchAsync(new() { ExecutablePath = "/usr/bin/chromium", Args = ChromiumArguments });
        Address = await _listening.Task.WaitAsync(LongestWait);
        await WaitUntilReadyAsync();
    }

    public async Task DisposeAsync()
    {
        if (_browser is not null) await _browser.CloseAsync();
        _program?.Kill(entireProcessTree: true);
        _program?.Dispose();
        Directory.Delete(DataDirectory, recursive: true);
    }

    /// <summary>What the person at the server does, in a process of its own beside the running shelf.</summary>
    /// <returns>What it said.</returns>
    public async Task<string> AdminAsync(params string[] words)
    {
        using var admin = Process.Start(ProgramWith(["admin", .. words]))!;
        var said = await admin.StandardOutput.ReadToEndAsync();
        await admin.WaitForExitAsync();
        Assert.Equal(0, admin.ExitCode);
        return said;
    }

    private ProcessStartInfo ProgramWith(string[] arguments)
    {
        var start = new ProcessStartInfo("dotnet", [typeof(Program).Assembly.Location, .. arguments, $"--Shelf:DataDirectory={DataDirectory}", .. Settings])
        {
            // Where `dotnet run` starts the program, so that it finds its wwwroot.
            WorkingDirectory = Repository.File("src/LibraryShelf.Web"),
            UseShellExecute = false,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
        };
        start.Environment["ASPNETCORE_ENVIRONMENT"] = "Production";
        return start;
    }

    /// <summary>Somebody with a browser of their own.</summary>
    public async Task<IBrowserContext> NewContextAsync(BrowserNewContextOptions? options = null)
    {
        var context = await _browser!.NewContextAsync(options);
        context.SetDefaultTimeout((float)LongestWait.TotalMilliseconds);
        context.Response += (_, answer) =>
        {
            if (answer.Request.IsNavigationRequest && answer.Frame.ParentFrame is null && answer.Headers.GetValueOrDefault("content-type", "").StartsWith("text/html", StringComparison.Ordinal))
                Documents.AddOrUpdate(answer.Frame.Page, answer);
        };
        return context;
    }

    /// <summary>The HTML of what the page shows as it came, before any script touched it.</summary>
    public static Task<string> SourceAsync(IPage page) =>
        Documents.TryGetValue(page, out var answer) ? answer.TextAsync() : throw new InvalidOperationException($"{page.Url} did not come as HTML.");

    private void Start()
    {
        _program = Process.Start(ProgramWith(["--urls", "http://127.0.0.1:0"]))!;
        _program.OutputDataReceived += (_, line) => Read(line.Data);
        _program.ErrorDataReceived += (_, line) => Read(line.Data);
        _program.BeginOutputReadLine();
        _program.BeginErrorReadLine();
    }

    private void Read(string? line)
    {
        if (line is null) return;
        lock (_output) _output.AppendLine(line);
        if (ListeningLine().Match(line) is { Success: true } match)
            _listening.TrySetResult(new Uri($"http://localhost:{match.Groups["port"].Value}"));
    }

    private async Task WaitUntilReadyAsync()
    {
        using var client = new HttpClient { BaseAddress = Address };
        using var patience = new CancellationTokenSource(LongestWait);
        while (!(await client.GetAsync("/health/ready", patience.Token)).IsSuccessStatusCode)
            await Task.Delay(50, patience.Token);
    }

    [GeneratedRegex(@"Now listening on: http://127\.0\.0\.1:(?<port>[0-9]+)", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex ListeningLine();
}
