using System.Diagnostics;
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

    /// <summary>Until a page shows what it should: on a busy machine the platform's own 5 s are a finding of nothing.</summary>
    static RunningShelf() => Assertions.SetDefaultExpectTimeout(30_000);

    private readonly StringBuilder _output = new();
    private readonly TaskCompletionSource<Uri> _listening = new(TaskCreationOptions.RunContinuationsAsynchronously);
    private Process? _program;
    private IPlaywright? _playwright;

    public string DataDirectory { get; } = Directory.CreateTempSubdirectory("shelf-browser-").FullName;
    public Uri Address { get; private set; } = null!;
    public IBrowser Browser { get; private set; } = null!;

    /// <summary>Settings of this shelf, as "--Shelf:…=…".</summary>
    public string[] Settings { get; init; } = [];

    public string Output
    {
        get { lock (_output) return _output.ToString(); }
    }

    public async Task InitializeAsync()
    {
        Start();
        Address = await _listening.Task.WaitAsync(TimeSpan.FromSeconds(60));
        await WaitUntilReadyAsync();
        _playwright = await Playwright.CreateAsync();
        Browser = await _playwright.Chromium.LaunchAsync(new() { ExecutablePath = "/usr/bin/chromium", Args = ChromiumArguments });
    }

    public async Task DisposeAsync()
    {
        if (Browser is not null) await Browser.CloseAsync();
        _playwright?.Dispose();
        _program?.Kill(entireProcessTree: true);
        _program?.Dispose();
        Directory.Delete(DataDirectory, recursive: true);
    }

    private void Start()
    {
        var program = typeof(Program).Assembly.Location;
        var start = new ProcessStartInfo("dotnet")
        {
            // Where `dotnet run` starts the program, so that it finds its wwwroot.
            WorkingDirectory = Repository.File("src/LibraryShelf.Web"),
            UseShellExecute = false,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            ArgumentList = { program, "--urls", "http://127.0.0.1:0", $"--Shelf:DataDirectory={DataDirectory}" },
        };
        foreach (var setting in Settings)
            start.ArgumentList.Add(setting);
        start.Environment["ASPNETCORE_ENVIRONMENT"] = "Production";
        _program = Process.Start(start)!;
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
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(60));
        while (!(await client.GetAsync("/health/ready", patience.Token)).IsSuccessStatusCode)
            await Task.Delay(50, patience.Token);
    }

    [GeneratedRegex(@"Now listening on: http://127\.0\.0\.1:(?<port>[0-9]+)", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex ListeningLine();
}
