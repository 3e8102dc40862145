using System.Diagnostics;
using System.Globalization;

namespace LibraryShelf.Benchmarks;

/// <summary>
/// What a command and all it started came to: processor seconds, and resident bytes of the largest of them. A few lines of Python ask the
/// system after the end (getrusage(2)), which .NET does not.
/// </summary>
internal sealed record Spent(double CpuSeconds, long ResidentBytes)
{
    private const string Asking = """
        import resource, subprocess, sys
        code = subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode
        spent = resource.getrusage(resource.RUSAGE_CHILDREN)
        print(code, spent.ru_utime + spent.ru_stime, spent.ru_maxrss * 1024)
        """;

    /// <summary>Output is thrown away; another end than 0 or 1 ends the run.</summary>
    public static async Task<Spent> ByAsync(string program, params string[] arguments)
    {
        using var process = Process.Start(new ProcessStartInfo("python3", ["-c", Asking, program, .. arguments]) { RedirectStandardOutput = true, UseShellExecute = false })
            ?? throw new InvalidOperationException("python3 did not start.");
        var said = (await process.StandardOutput.ReadToEndAsync()).Split(' ');
        await process.WaitForExitAsync();
        if (said.Length < 3 || said[0] is not ("0" or "1"))
            throw new InvalidOperationException($"{program} ended with {said[0]}.");
        return new Spent(double.Parse(said[1], CultureInfo.InvariantCulture), long.Parse(said[2], CultureInfo.InvariantCulture));
    }
}
