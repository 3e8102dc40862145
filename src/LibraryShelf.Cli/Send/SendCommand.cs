using System.CommandLine;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Send;

/// <summary>`shelf send DIR --to URL --library SLUG`: a folder into the library's draft, and what its check found.</summary>
internal static class SendCommand
{
    public static Command Create(ShelfConsole console)
    {
        var folder = new Argument<string>("DIR") { Description = "The library's folder." };
        var to = new Option<string>("--to") { Description = "The shelf's address, such as https://shelf.example.", Required = true };
        var library = new Option<string>("--library") { Description = "The library's name in its address, such as jam-jar-marimba.", Required = true };
        var number = new Option<string?>("--number") { Description = "The new version's number, such as 1.2.0; otherwise the shelf proposes one." };
        var token = new Option<string?>("--token") { Description = $"An upload token from the workbench. Better in {SendOrder.TokenVariable}, where nobody sees it." };
        var json = ShelfConsole.JsonOption();
        var command = new Command("send", "Sends a library's folder to a shelf; only what the shelf lacks travels.") { folder, to, library, number, token, json };
        command.SetAction((parsed, cancellationToken) => console.GuardAsync(async () =>
        {
            var order = SendOrder.Read(
                parsed.GetRequiredValue(folder), parsed.GetRequiredValue(to), parsed.GetRequiredValue(library),
                parsed.GetValue(number), parsed.GetValue(token));
            if (order.Shelf is { Scheme: "http", IsLoopback: false })
                console.Remark("the address is http, so the token and the recordings travel unencrypted.");
            using var handler = new SocketsHttpHandler { AllowAutoRedirect = false, PooledConnectionLifetime = TimeSpan.FromMinutes(5) };
            using var http = new HttpClient(handler) { Timeout = TimeSpan.FromMinutes(10) };
            var memory = new HashMemory(HashMemory.DefaultPlace(), order.Folder, TimeProvider.System);
            var sent = await new FolderSender(console, http, memory, TimeProvider.System).RunAsync(order, cancellationToken);
            return SendReport.Print(console, sent, parsed.GetValue(json));
        }));
        return command;
    }
}
