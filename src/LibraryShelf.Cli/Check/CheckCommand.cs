using System.CommandLine;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Cli.Check;

/// <summary>`shelf check DIR`: the first check, as the shelf makes it, on the maker's own machine.</summary>
internal static class CheckCommand
{
    public static Command Create(ShelfConsole console)
    {
        var folder = new Argument<string>("DIR") { Description = "The library's folder." };
        var isKit = new Option<bool>("--unpitched") { Description = "A kit of clicks and knocks: gaps between keys are no fault, and notes are not compared." };
        var limits = new Option<string?>("--limits") { Description = $"A JSON file of what you expect of a recording (schema {LimitsText.Schema}); docs/checks.md names the limits." };
        var middleC = new Option<string?>("--middle-c") { Description = "What middle C is called in the file names: C4 (usual) or C3." };
        middleC.AcceptOnlyFromAmong("C3", "C4");
        var json = ShelfConsole.JsonOption();
        var command = new Command("check", "Checks a library's folder: recordings, formats, mapping and names.") { folder, isKit, limits, middleC, json };
        command.SetAction((parsed, cancellationToken) => console.GuardAsync(async () =>
        {
            var expected = ReadLimits(parsed.GetValue(limits), parsed.GetValue(middleC));
            var verdict = await new FolderChecker(console).RunAsync(
                parsed.GetRequiredValue(folder), !parsed.GetValue(isKit), expected, cancellationToken);
            if (parsed.GetValue(json))
                console.Json(CheckJson.Of(verdict.Recordings, verdict.Sheet.Findings, verdict.Sheet.Count, verdict.Sheet.Places), ResultJson.Printed.CheckJson);
            else
                new CheckTable(console, verdict, new NoteNaming(expected.MiddleCOctave)).Print();
            return verdict.MustFix == 0 ? ExitCodes.Fine : ExitCodes.FoundSomething;
        }));
        return command;
    }

    /// <summary>The file's limits, with another middle C when one is named. CouldNotRunException when the file is not of the schema.</summary>
    private static LibraryLimits ReadLimits(string? file, string? middleC)
    {
        var limits = LibraryLimits.Default;
        if (file is not null && !LimitsText.TryRead(File.ReadAllText(file), out limits, out var why))
            throw new CouldNotRunException($"--limits {file}: {why}");
        return middleC is null ? limits : limits with { MiddleCOctave = middleC == "C3" ? 3 : 4 };
    }
}
