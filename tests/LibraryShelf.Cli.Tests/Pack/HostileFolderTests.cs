using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.Pack;

/// <summary>Folders as Linux lets them be, but not every system: `shelf check` and `shelf pack` name the file and end.</summary>
public sealed class HostileFolderTests : IDisposable
{
    private readonly TemporaryFolder folder = new();
    private readonly string library;
    private readonly string zip;

    public HostileFolderTests()
    {
        (library, zip) = (folder.File("Kettle"), folder.File("kettle.zip"));
        Directory.CreateDirectory(library);
        File.WriteAllText(Path.Combine(library, "read me.txt"), "kettle");
    }

    public void Dispose() => folder.Dispose();

    /// <summary>Names that no archive may hold.</summary>
    [Theory]
    [InlineData("a\\b.wav", "backslash")]
    [InlineData("a\u0001.wav", "control character")]
    [InlineData("a\u202Evaw.exe", "direction of reading")]
    [InlineData("C:a.wav", "drive")]
    public async Task A_name_that_no_system_else_takes_stops_the_packing(string name, string reason)
    {
        if (OperatingSystem.IsWindows())
            return;
        await File.WriteAllTextAsync(Path.Combine(library, name), "x");
        var packed = await PackAsync();
        Assert.Equal(2, packed.ExitCode);
        Assert.Contains(reason, packed.Error, StringComparison.Ordinal);
        Assert.False(File.Exists(zip));
        var check = await Ran.ShelfAsync("check", library, "--json");
        Assert.Equal(1, check.ExitCode);
        Assert.Contains(reason, check.Out, StringComparison.Ordinal);
    }

    [Theory, InlineData("check"), InlineData("pack"), InlineData("send")]
    public async Task A_pipe_is_named_and_not_waited_for(string command)
    {
        if (OperatingSystem.IsWindows())
            return;
        OutsideTool.Run(library, "mkfifo", "pipe.wav");
        var running = command switch
        {
            "pack" => PackAsync(),
            "check" => Ran.ShelfAsync("check", library),
            _ => Ran.ShelfAsync("send", library, "--to", "http://127.0.0.1:9", "--library", "kettle", "--token", "none"),
        };
        var ran = await running.WaitAsync(TimeSpan.FromSeconds(60));
        Assert.Equal(2, ran.ExitCode);
        Assert.Contains("\"pipe.wav\" is a pipe", ran.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_link_to_a_device_is_named()
    {
        if (OperatingSystem.IsWindows())
            return;
        File.CreateSymbolicLink(Path.Combine(library, "zero.wav"), "/dev/zero");
        var ran = await PackAsync().WaitAsync(TimeSpan.FromSeconds(60));
        Assert.Equal(2, ran.ExitCode);
        Assert.Contains("\"zero.wav\" is a pipe, a socket or a device", ran.Error, StringComparison.Ordinal);
    }

    private Task<Ran> PackAsync() => Ran.ShelfAsync("pack", library, "-o", zip, "--title", "Kettle", "--number", "1.0.0");
}
