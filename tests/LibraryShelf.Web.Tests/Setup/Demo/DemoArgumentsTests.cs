using LibraryShelf.Web.Setup.Demo;
using Microsoft.Extensions.Configuration;

namespace LibraryShelf.Web.Tests.Setup.Demo;

public sealed class DemoArgumentsTests
{
    private const string OwnFolder = "--Shelf:DataDirectory=demo-data", OwnDatabase = "--Shelf:Database:Provider=sqlite";

    private static readonly string[] NoMoney = ["--Shelf:Payments:Practice=true", "--Shelf:Payments:Key=", "--Shelf:Payments:MessageSecret="];

    [Fact]
    public void Without_the_switch_nothing_is_touched()
    {
        var start = DemoArguments.Read(["--urls", "http://localhost:1234"]);
        Assert.False(start.IsDemo);
        Assert.Equal(["--urls", "http://localhost:1234"], start.Rest);
    }

    [Theory]
    [InlineData("--demo", "--urls", "http://localhost:1234")]
    [InlineData("--urls", "http://localhost:1234", "--demo")]
    [InlineData("--DEMO", "--urls", "http://localhost:1234")]
    public void The_bare_switch_does_not_swallow_its_neighbour(params string[] args)
    {
        var start = DemoArguments.Read(args);
        Assert.True(start.IsDemo);
        Assert.Equal(["--urls", "http://localhost:1234", OwnDatabase, OwnFolder, "--Shelf:PublicUrl=http://localhost:1234", .. NoMoney], start.Rest);
        var settings = new ConfigurationBuilder().AddCommandLine(start.Rest).Build();
        Assert.Equal("http://localhost:1234", settings["urls"]);
        Assert.Equal("demo-data", settings["Shelf:DataDirectory"]);
    }

    [Theory]
    [InlineData("--Shelf:DataDirectory=elsewhere")]
    [InlineData("--shelf:datadirectory", "elsewhere")]
    public void A_named_folder_is_taken(params string[] folder)
    {
        var start = DemoArguments.Read(["--demo", .. folder]);
        Assert.Equal([.. folder, OwnDatabase, .. NoMoney], start.Rest);
    }

    [Fact]
    public void A_server_named_for_the_makers_own_shelf_is_left_alone()
    {
        var start = DemoArguments.Read(["--Shelf:Database:Provider=postgres", "--demo"]);
        Assert.Equal("sqlite", new ConfigurationBuilder().AddCommandLine(start.Rest).Build()["Shelf:Database:Provider"]);
    }

    [Fact]
    public void A_key_set_for_the_makers_own_shelf_takes_no_money_here()
    {
        var start = DemoArguments.Read(["--Shelf:Payments:Key=sk_live_mine", "--Shelf:Payments:MessageSecret=whsec_mine", "--demo"]);
        var settings = new ConfigurationBuilder().AddCommandLine(start.Rest).Build();
        Assert.Equal(("true", "", ""), (settings["Shelf:Payments:Practice"], settings["Shelf:Payments:Key"], settings["Shelf:Payments:MessageSecret"]));
    }
}
