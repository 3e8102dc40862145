using System.Xml.Linq;

namespace LibraryShelf.Architecture.Tests;

/// <summary>Who may reference whom, read from the project files. The table is docs/ARCHITECTURE.md's "Rooms and doors".</summary>
public sealed class DoorTests
{
    private static readonly Dictionary<string, string[]> Doors = new(StringComparer.Ordinal)
    {
        ["Texts"] = [],
        ["Audio"] = ["Texts"],
        ["Packaging"] = ["Audio"],
        ["Core"] = ["Packaging"],
        ["Data.Sqlite"] = ["Core"],
        ["Data.Postgres"] = ["Core"],
        ["Adapters"] = ["Core"],
        ["Web"] = ["Audio", "Packaging", "Core", "Data.Sqlite", "Data.Postgres", "Adapters"],
        ["Cli"] = ["Packaging"],
    };

    public static TheoryData<string> Rooms() =>
        [.. Directory.EnumerateDirectories(Repository.Source).Select(folder => Path.GetFileName(folder)["LibraryShelf.".Length..])];

    [Theory, MemberData(nameof(Rooms))]
    public void A_room_opens_only_its_own_doors(string room)
    {
        Assert.True(Doors.ContainsKey(room), $"{room} is a new room: give it a row in the table of doors.");
        var used = Project(room).Descendants("ProjectReference")
            .Select(r => Path.GetFileNameWithoutExtension(r.Attribute("Include")!.Value)["LibraryShelf.".Length..]);
        Assert.Empty(used.Except(Doors[room]));
    }

    [Theory, MemberData(nameof(Rooms))]
    public void Only_the_host_and_the_walls_bring_in_other_peoples_servers(string room)
    {
        string[] hostOnly = ["Hangfire.NetCore", "Hangfire.InMemory"];
        string[] providers = ["Microsoft.EntityFrameworkCore.Sqlite", "Npgsql.EntityFrameworkCore.PostgreSQL"];
        string[] wires = ["MailKit"];
        var packages = Project(room).Descendants("PackageReference").Select(p => p.Attribute("Include")!.Value).ToList();
        if (room != "Web") Assert.Empty(packages.Intersect(hostOnly));
        if (!room.StartsWith("Data.", StringComparison.Ordinal)) Assert.Empty(packages.Intersect(providers));
        if (room != "Adapters") Assert.Empty(packages.Intersect(wires));
    }

    [Fact]
    public void Versions_stand_in_one_place()
    {
        var versioned = Repository.FilesUnder(".", "*.csproj")
            .Where(file => XDocument.Load(file).Descendants("PackageReference").Any(p => p.Attribute("Version") is not null));
        Assert.Empty(versioned);
    }

    private static XDocument Project(string room) =>
        XDocument.Load(Path.Combine(Repository.Source, $"LibraryShelf.{room}", $"LibraryShelf.{room}.csproj"));
}
