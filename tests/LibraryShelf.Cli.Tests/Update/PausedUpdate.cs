using LibraryShelf.Cli.Output;
using LibraryShelf.Cli.Update;

namespace LibraryShelf.Cli.Tests.Update;

/// <summary>
/// This test project as a program: `shelf update`'s own code that, having come to one of its steps, says so and waits to be killed. A test
/// runner loads the project instead, and never comes here.
/// </summary>
internal static class PausedUpdate
{
    private static async Task Main(string[] arguments)
    {
        var (step, nth, link, atOnce) = (Enum.Parse<UpdateStep>(arguments[0]), int.Parse(arguments[1]), bool.Parse(arguments[2]), bool.Parse(arguments[3]));
        var reached = 0;
        var updater = new FolderUpdater(new ShelfConsole(TextWriter.Null, TextWriter.Null, errorIsTerminal: false))
        {
            Link = link ? SystemCalls.TryLink : (_, _) => false,
            ExchangeAtOnce = atOnce,
            Reached = now =>
            {
                if (now != step || ++reached != nth)
                    return;
                Console.WriteLine($"at {now}");
                using var never = new ManualResetEvent(false);
                never.WaitOne();
            },
        };
        await updater.RunAsync(arguments[4], arguments[5], CancellationToken.None);
    }
}
