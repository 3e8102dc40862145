using System.CommandLine;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Cli.Compare;

/// <summary>`shelf compare OLD NEW`: what the workbench would say changed from one version to the next, on the maker's own machine.</summary>
internal static class CompareCommand
{
    public static Command Create(ShelfConsole console)
    {
        var old = new Argument<string>("OLD") { Description = "The older version: its folder, or its archive (.zip)." };
        var next = new Argument<string>("NEW") { Description = "The newer version: its folder, or its archive (.zip)." };
        var number = new Option<string?>("--old-number") { Description = "The older version's number, from which the next is proposed. Without it: the one that its INSTALL.txt names, else 1.0.0." };
        var middleC = new Option<string?>("--middle-c") { Description = "What middle C is called in the file names: C4 (usual) or C3." };
        middleC.AcceptOnlyFromAmong("C3", "C4");
        var json = ShelfConsole.JsonOption();
        var command = new Command("compare", "Compares two versions of a library: what changed, and which number the newer one should get.") { old, next, number, middleC, json };
        command.SetAction((parsed, cancellationToken) => console.GuardAsync(async () =>
        {
            var naming = new NoteNaming(parsed.GetValue(middleC) == "C3" ? 3 : 4);
            var oldNumber = parsed.GetValue(number);
            if (oldNumber is not null && ReleaseNumber.TryParse(oldNumber) is null)
                throw new CouldNotRunException($"--old-number: \"{oldNumber}\" is not a number such as 1.2.0 (SemVer 2.0.0).");
            var comparer = new SidesComparer(console, naming);
            var outcome = await comparer.RunAsync(
                parsed.GetRequiredValue(old), parsed.GetRequiredValue(next), oldNumber, cancellationToken);
            if (parsed.GetValue(json))
                console.Json(outcome, ResultJson.Printed.CompareJson);
            else
                new CompareTable(console, outcome, naming).Print(comparer.KnowsPlayers);
            return outcome.Changes.Count == 0 ? ExitCodes.Fine : ExitCodes.FoundSomething;
        }));
        return command;
    }
}
