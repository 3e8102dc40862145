using System.ComponentModel;
using System.Diagnostics;

namespace LibraryShelf.Packaging.Tests.Archives;

/// <summary>Runs a program that is not ours as a second opinion. A missing program fails the test: the test command installs them all.</summary>
internal static class OutsideTool
{
    public static string Run(string folder, string program, params string[] arguments)
    {
        var (exitCode, output) = Try(folder, program, arguments);
        Assert.True(exitCode == 0, $"{program} {string.Join(' ', arguments)} answered {exitCode}:\n{output}");
        return output;
    }

    public static (int ExitCode, string Output) Try(string folder, string program, params string[] arguments)
    {
        var start = new ProcessStartInfo(program, arguments)
        {
            WorkingDirectory = folder,
            UseShellExecute = false,
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            Environment = { ["LC_ALL"] = "C.UTF-8", ["PYTHONUTF8"] = "1" },
        };
        Process process;
        try
        {
            process = Process.Start(start)!;
        }
        catch (Win32Exception)
        {
            Assert.Fail($"{program} is not installed; tests/run installs what the tests need.");
            throw;
        }
        using (process)
        {
            var error = process.StandardError.ReadToEndAsync();
            var output = process.StandardOutput.ReadToEnd();
            process.WaitForExit();
            return (process.ExitCode, output + error.Result);
        }
    }
}
