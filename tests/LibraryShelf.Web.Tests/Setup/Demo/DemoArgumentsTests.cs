using LibraryShelf.Web.Setup.Demo;
using Microsoft.Extensions.Configuration;

namespace LibraryShelf.Web.Tests.Setup.Demo;

public sealed class DemoArgumentsTests
{
    private const string OwnFolder = "--Shelf:DataDirectory=demo-data";

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
        Assert.Equal(["--urls", "http://localhost:1234", OwnFolder], start.Rest);
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
        Assert.Equal(folder, start.Rest);
    }
}
