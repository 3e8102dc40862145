using LibraryShelf.Web.Setup.Demo.Recipes;

namespace LibraryShelf.Web.Setup.Demo;

internal static class DemoGreeting
{
    /// <summary>Says, once the practice shop serves, where it is and how to come in as maker and as member.</summary>
    public static void GreetDemo(this WebApplication app, DemoArguments start)
    {
        if (start.IsDemo)
            app.Lifetime.ApplicationStarted.Register(() => Console.Out.WriteLine(Words(app.Urls.First())));
    }

    private static string Words(string address)
    {
        var shop = SeedReader.Read(SeedReader.DefaultFolder);
        return $"""

            {shop.Name}, a practice shop: everything in it is invented.
              The shelf      {address}
              The workbench  {address}/workbench
                             sign in as {shop.MakerEmail} with the password {shop.MakerPassword}
              As a member    {address}/sign-in
                             ask for a mail to {shop.Members[0].Email}; it waits at the workbench under Outbox
            """;
    }
}
