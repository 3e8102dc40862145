namespace LibraryShelf.Web.Setup.Demo;

/// <summary>
/// The command line with the bare word --demo taken out of it, because the configuration reader would take the word after it
/// for its value. It always practises payments: no money moves, whatever key the maker's own shelf is set to. The practice shop lives in a folder of its own unless another is asked for, database included: it never touches
/// a PostgreSQL server that the maker's own shelf is set to.
/// </summary>
internal sealed record DemoArguments(bool IsDemo, string[] Rest)
{
    private const string DataDirectoryKey = "Shelf:DataDirectory";
    private const string DefaultDirectory = "demo-data";
    private const string OwnDatabase = "--Shelf:Database:Provider=sqlite";

    private static readonly string[] NoMoney = ["--Shelf:Payments:Practice=true", "--Shelf:Payments:Key=", "--Shelf:Payments:MessageSecret="];

    public static DemoArguments Read(string[] args)
    {
        string[] rest = [.. args.Where(a => !IsSwitch(a))];
        if (rest.Length == args.Length)
            return new DemoArguments(false, args);
        // Only what was said for this start counts: the directory in appsettings.json is the maker's own shelf.
        var said = new ConfigurationBuilder().AddEnvironmentVariables().AddCommandLine(rest).Build()[DataDirectoryKey];
        string[] own = string.IsNullOrWhiteSpace(said) ? [OwnDatabase, $"--{DataDirectoryKey}={DefaultDirectory}"] : [OwnDatabase];
        // Where people come in is known from the start here, so that mails written later name it.
        var urls = (new ConfigurationBuilder().AddEnvironmentVariables().AddCommandLine(rest).Build()["urls"] ?? "").Split(';')[0];
        string[] address = urls.Length > 0 && rest.All(a => !a.StartsWith("--Shelf:PublicUrl", StringComparison.OrdinalIgnoreCase)) ? [$"--Shelf:PublicUrl={PublicAddress.Reachable(urls)}"] : [];
        // Last, because the last word counts.
        return new DemoArguments(true, [.. rest, .. own, .. address, .. NoMoney]);
    }

    private static bool IsSwitch(string argument) =>
        argument.Equals(SettingsSetup.DemoSwitch, StringComparison.OrdinalIgnoreCase)
        || argument.Equals(SettingsSetup.DemoSwitch + "=true", StringComparison.OrdinalIgnoreCase);
}
