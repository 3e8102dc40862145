using System.Diagnostics;
using System.Text.RegularExpressions;

namespace LibraryShelf.Browser.Tests;

/// <summary>The Nu HTML checker (https://validator.github.io/validator/), which reads HTML as the standard says.</summary>
internal static partial class NuHtml
{
    private static readonly string Checker = Repository.File("tests/peers/node_modules/vnu-jar/build/dist/vnu.jar");

    /// <summary>Which the shelf's content policy forbids.</summary>
    [GeneratedRegex("<[a-z][^>]*\\sstyle=", RegexOptions.IgnoreCase | RegexOptions.NonBacktracking)]
    public static partial Regex StyleAttribute();

    /// <param name="pages">HTML by the address it was served at.</param>
    /// <returns>What is wrong, a line each, with the address; "" when nothing is.</returns>
    public static async Task<string> ErrorsAsync(IEnumerable<KeyValuePair<string, string>> pages)
    {
        var folder = Directory.CreateTempSubdirectory("shelf-html-");
        try
        {
            var names = new List<(string File, string Page)>();
            foreach (var (page, html) in pages)
            {
                names.Add(($"{names.Count:000}.html", page));
                await File.WriteAllTextAsync(Path.Combine(folder.FullName, names[^1].File), html);
            }
            var said = await CheckAsync(folder.FullName);
            return names.Aggregate(said, (text, name) => text.Replace(name.File, name.Page, StringComparison.Ordinal));
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }

    private static async Task<string> CheckAsync(string folder)
    {
        // For seconds' work: not compiled for longer, which halves what it takes of the processor.
        var start = new ProcessStartInfo("java", ["-Xss8m", "-XX:TieredStopAtLevel=1", "-XX:+UseSerialGC", "-jar", Checker, "--errors-only", "--skip-non-html", "--format", "gnu", folder]) { RedirectStandardError = true, UseShellExecute = false };
        using var process = Process.Start(start) ?? throw new InvalidOperationException("java did not start.");
        var said = await process.StandardError.ReadToEndAsync();
        await process.WaitForExitAsync();
        // 0: nothing was found; 1: something was. Anything else, or a run that says nothing and fails, is no verdict.
        return process.ExitCode == 0 || (process.ExitCode == 1 && said.Length > 0) ? said.Trim() : throw new InvalidOperationException($"The checker ended with {process.ExitCode}: {said}");
    }
}
