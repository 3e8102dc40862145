using System.Diagnostics;
using System.Globalization;

namespace LibraryShelf.Benchmarks;

/// <summary>A process of this run: its output is read away, and it is gone at the end.</summary>
internal sealed class ProgramUnderTest : IAsyncDisposable
{
    private readonly Process process;
    private readonly List<string> lines = [];

    private ProgramUnderTest(Process process)
    {
        this.process = process;
        process.OutputDataReceived += Keep;
        process.ErrorDataReceived += Keep;
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
    }

    public static ProgramUnderTest Start(ProcessStartInfo start)
    {
        start.RedirectStandardOutput = start.RedirectStandardError = true;
        return new ProgramUnderTest(Process.Start(start) ?? throw new InvalidOperationException($"{start.FileName} did not start."));
    }

    /// <summary>Waits for the end; a program that ends with another code than 0 or 1 ends the run.</summary>
    public async Task FinishAsync()
    {
        await process.WaitForExitAsync();
        if (process.ExitCode > 1)
            throw new InvalidOperationException($"A program ended with {process.ExitCode}:\n{Said()}");
    }

    public void EnsureRunning()
    {
        if (process.HasExited)
            throw new InvalidOperationException($"A program ended before its time with {process.ExitCode}:\n{Said()}");
    }

    private bool isOver;

    /// <summary>Resident bytes now (VmRSS of proc(5)).</summary>
    public long ResidentBytes()
    {
        var line = File.ReadLines($"/proc/{process.Id}/status").First(l => l.StartsWith("VmRSS:", StringComparison.Ordinal));
        return long.Parse(line.Split(' ', StringSplitOptions.RemoveEmptyEntries)[1], CultureInfo.InvariantCulture) * 1024;
    }

    /// <summary>Processor seconds so far, of all its threads; only while it runs.</summary>
    public double CpuSeconds()
    {
        process.Refresh();
        return process.TotalProcessorTime.TotalSeconds;
    }

    /// <summary>Waits until it has done next to nothing for three seconds, two minutes at most.</summary>
    public async Task RestAsync()
    {
        var begun = Stopwatch.GetTimestamp();
        for (var still = 0; still < 3 && Stopwatch.GetElapsedTime(begun) < TimeSpan.FromMinutes(2);)
        {
            var before = CpuSeconds();
            await Task.Delay(1000);
            still = CpuSeconds() - before < 0.1 ? still + 1 : 0;
        }
    }

    /// <summary>By whoever started it, or else at the end of the run.</summary>
    public async ValueTask DisposeAsync()
    {
        if (isOver)
            return;
        isOver = true;
        if (!process.HasExited)
            process.Kill(entireProcessTree: true);
        await process.WaitForExitAsync();
        process.Dispose();
    }

    private string Said()
    {
        lock (lines)
            return string.Join('\n', lines);
    }

    private void Keep(object sender, DataReceivedEventArgs line)
    {
        if (line.Data is null)
            return;
        lock (lines)
            lines.Add(line.Data);
    }
}
