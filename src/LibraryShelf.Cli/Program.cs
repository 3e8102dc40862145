using LibraryShelf.Cli;
using LibraryShelf.Cli.Output;

return await ShelfCommands.RunAsync(args, ShelfConsole.ForThisProcess(), CancellationToken.None);
