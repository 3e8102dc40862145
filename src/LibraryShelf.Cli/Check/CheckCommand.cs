using System.CommandLine;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Check;

/// <summary>`shelf check DIR`: the first check, as the shelf makes it, on the maker's own machine.</summary>
internal static class CheckCommand
{
    public static Command Create(ShelfConsole console)
    {
        var folder = new Argument<string>("DIR") { Description = "The library's folder." };
        var isKit = new Option<bool>("--unpitched") { Description = "A kit of clicks and knocks: gaps between keys are no fault, and notes are not compared." };
        var json = ShelfConsole.JsonOption();
        var command = new Command("check", "Checks a library's folder: recordings, formats, mapping and names.") { folder, isKit, json };
        command.SetAction((parsed, cancellationToken) => console.GuardAsync(async () =>
        {
            var verdict = await new FolderChecker(console).RunAsync(parsed.GetRequiredValue(folder), !parsed.GetValue(isKit), cancellationToken);
            if (parsed.GetValue(json))
                console.Json(CheckJson.Of(verdict), ResultJson.Printed.CheckJson);
            else
                CheckTable.Print(console, verdict);
            return verdict.MustFix == 0 ? ExitCodes.Fine : ExitCodes.FoundSomething;
        }));
        return command;
    }
}
