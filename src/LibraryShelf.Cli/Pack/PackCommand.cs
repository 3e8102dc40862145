using System.CommandLine;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Pack;

/// <summary>`shelf pack DIR -o FILE.zip --title T --number 1.2.0`: the archive that sealing the same folder would make.</summary>
internal static class PackCommand
{
    public static Command Create(ShelfConsole console)
    {
        var command = new Command("pack", "Packs a library's folder into the archive the shelf would make of it.");
        command.SetAction((_, _) => Task.FromResult(console.Refuse("pack is not built yet.")));
        return command;
    }
}
