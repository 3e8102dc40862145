using LibraryShelf.Cli;
using LibraryShelf.Cli.Output;

var console = ShelfConsole.ForThisProcess();
try
{
    return await ShelfCommands.RunAsync(args, console, CancellationToken.None);
}
finally
{
    await console.FlushAsync();
}
