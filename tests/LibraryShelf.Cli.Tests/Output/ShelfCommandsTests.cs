using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.Output;

public sealed class ShelfCommandsTests
{
    [Theory]
    [InlineData]
    [InlineData("fetch")]
    [InlineData("pack")]
    [InlineData("verify")]
    [InlineData("verify", "a", "b")]
    [InlineData("pack", "x", "--nonsense")]
    public async Task A_command_line_that_makes_no_sense_could_not_run(params string[] arguments)
    {
        var ran = await Ran.ShelfAsync(arguments);
        Assert.Equal((2, ""), (ran.ExitCode, ran.Out));
        Assert.StartsWith("shelf: ", ran.Error);
        Assert.EndsWith("Try `shelf --help`.\n", ran.Error);
    }

    [Fact]
    public async Task Help_is_fine_and_lists_the_commands()
    {
        var ran = await Ran.ShelfAsync("--help");
        Assert.Equal((0, ""), (ran.ExitCode, ran.Error));
        Assert.Contains("pack", ran.Out);
        Assert.Contains("verify", ran.Out);
    }

    /// <summary>The program itself, its streams in pipes: exit code as promised, and nothing drawn.</summary>
    [Fact]
    public void In_a_pipe_the_program_says_only_its_result()
    {
        using var folder = new TemporaryFolder();
        Directory.CreateDirectory(folder.File("lib"));
        File.WriteAllBytes(folder.File("lib/C4.wav"), new byte[5_000_000]);
        var shelf = typeof(ShelfCommands).Assembly.Location;
        var (exitCode, said) = OutsideTool.Try(folder.Path, "dotnet", shelf, "pack", "lib", "-o", "k.zip", "--title", "Kettle", "--number", "1.0.0");
        Assert.Equal(0, exitCode);
        Assert.StartsWith($"{folder.File("k.zip")}: 5 files in \"Kettle\", ", said);
        Assert.DoesNotContain('%', said);
        Assert.DoesNotContain('\r', said);
        Assert.Equal(1, OutsideTool.Try(folder.Path, "dotnet", shelf, "verify", shelf).ExitCode);
        Assert.Equal(2, OutsideTool.Try(folder.Path, "dotnet", shelf, "verify", "nowhere.zip").ExitCode);
    }
}
