using System.CommandLine;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Pack;

/// <summary>`shelf pack DIR -o FILE.zip --title T --number 1.2.0`: the archive that sealing the same folder would make.</summary>
internal static class PackCommand
{
    public static Command Create(ShelfConsole console)
    {
        var folder = new Argument<string>("DIR") { Description = "The library's folder." };
        var output = new Option<string>("--output", "-o") { Description = "The archive to write, such as Kettle.zip.", Required = true };
        var title = new Option<string>("--title") { Description = "The library's title.", Required = true };
        var number = new Option<string>("--number") { Description = "This version's number, such as 1.2.0.", Required = true };
        var notes = new Option<string?>("--notes") { Description = "A text file (Markdown) with what changed." };
        var licence = new Option<string?>("--licence") { Description = "An SPDX licence id, or a text file with your own licence." };
        var credits = new Option<string?>("--credits") { Description = "A text file with the credits." };
        var dated = new Option<string?>("--dated") { Description = "The date every file carries, such as 2026-03-01; otherwise 1980-01-01." };
        var words = new Option<string?>("--words") { Description = "A JSON file with all of these and players and earlier changes (libraryshelf/words/1)." };
        var json = ShelfConsole.JsonOption();
        var command = new Command("pack", "Packs a library's folder into the archive the shelf would make of it.")
        {
            folder, output, title, number, notes, licence, credits, dated, words, json,
        };
        command.SetAction((parsed, cancellationToken) => console.GuardAsync(async () =>
        {
            var order = PackOrder.Read(
                folder: parsed.GetRequiredValue(folder), output: parsed.GetRequiredValue(output),
                title: parsed.GetRequiredValue(title), number: parsed.GetRequiredValue(number),
                notes: parsed.GetValue(notes), licence: parsed.GetValue(licence),
                credits: parsed.GetValue(credits), dated: parsed.GetValue(dated), words: parsed.GetValue(words));
            var packed = await new FolderPacker(console).RunAsync(order, cancellationToken);
            PackReport.Print(console, packed, parsed.GetValue(json));
            return ExitCodes.Fine;
        }));
        return command;
    }
}
