using System.Diagnostics;
using System.Text;

namespace LibraryShelf.Campaigns.Tests.Running;

/// <summary>A program of ours in a process of its own, with what it said.</summary>
internal sealed class OutsideProcess : IDisposable
{
    private readonly Process process;
    private readonly StringBuilder said = new();
    private readonly StringBuilder complained = new();
    private bool isGone;

    private OutsideProcess(ProcessStartInfo start)
    {
        process = Process.Start(start)!;
        process.OutputDataReceived += (_, line) => Keep(said, line.Data);
        process.ErrorDataReceived += (_, line) => Keep(complained, line.Data);
        process.BeginOutputReadLine();
        process.BeginErrorReadLine();
    }

    public string Said => Read(said);

    public string Complained => Read(complained);

    public bool HasEnded => isGone || process.HasExited;

    /// <param name="command">The words of the command line, the program first.</param>
    /// <param name="folder">Where it is started.</param>
    /// <param name="environment">Added to this process's own.</param>
    public static OutsideProcess Start(IReadOnlyList<string> command, string folder, params (string Name, string Value)[] environment)
    {
        var start = new ProcessStartInfo(command[0], command.Skip(1))
        {
            WorkingDirectory = folder, UseShellExecute = false, RedirectStandardOutput = true, RedirectStandardError = true,
        };
        foreach (var (name, value) in environment)
            start.Environment[name] = value;
        return new OutsideProcess(start);
    }

    /// <summary>SIGKILL: nothing of the program runs any more, nothing is written, nothing is closed in order.</summary>
    public void Kill()
    {
        if (isGone)
            return;
        process.Kill();
        process.WaitForExit();
    }

    /// <summary>The exit code.</summary>
    public async Task<int> EndAsync(TimeSpan patience)
    {
        using var stop = new CancellationTokenSource(patience);
        await process.WaitForExitAsync(stop.Token);
        return process.ExitCode;
    }

    /// <summary>Kills it if it still runs; a second time is harmless.</summary>
    public void Dispose()
    {
        if (isGone)
            return;
        if (!process.HasExited)
            Kill();
        isGone = true;
        process.Dispose();
    }

    private static void Keep(StringBuilder into, string? line)
    {
        lock (into) into.AppendLine(line);
    }

    private static string Read(StringBuilder from)
    {
        lock (from) return from.ToString();
    }
}
