using System.Diagnostics;

namespace LibraryShelf.Web.Tests.Deploy;

/// <summary>deploy/libraryshelf.service as systemd itself reads it.</summary>
public sealed class UnitTests
{
    /// <summary>What the committed unit gives a setting.</summary>
    public static string Setting(string name) => Assert.Single(
        File.ReadAllLines(Path.Combine(NginxInFront.Repository(), "deploy", "libraryshelf.service")), l => l.StartsWith($"Environment={name}=", StringComparison.Ordinal))
        .Split('=', 3)[2];

    /// <summary>No image is built here, so this much at least: whoever changes the one changes the other.</summary>
    [Fact]
    public async Task The_container_is_set_up_as_the_unit_is()
    {
        var text = await File.ReadAllTextAsync(Path.Combine(NginxInFront.Repository(), "deploy", "Containerfile"));
        var unit = await File.ReadAllTextAsync(Path.Combine(NginxInFront.Repository(), "deploy", "libraryshelf.service"));
        Assert.Contains("TimeoutStopSec=45", unit, StringComparison.Ordinal);
        Assert.Contains("podman run -d --name shelf --stop-timeout 45 -p 127.0.0.1:5080:5080", text, StringComparison.Ordinal);
        Assert.Contains("EXPOSE 5080", text, StringComparison.Ordinal);
        Assert.Contains("http://0.0.0.0:5080", text, StringComparison.Ordinal);
        Assert.Contains("USER $APP_UID", text, StringComparison.Ordinal);
        foreach (var setting in new[] { "Shelf__DataDirectory=", "Shelf__BehindProxy=" })
            Assert.True(text.Contains(setting, StringComparison.Ordinal) && unit.Contains(setting, StringComparison.Ordinal), setting);
        // DEVELOPERS.md asks for 20 or later.
        Assert.Matches(@"FROM docker\.io/library/node:(2[0-9]|[3-9][0-9])-", text);
    }

    [Theory]
    [InlineData("", "")]
    [InlineData("ProtectSystem=strict", "ProtectSystm=strict")]
    public async Task Systemd_has_nothing_to_say_against_it_but_against_a_wrong_word(string committed, string wrong)
    {
        var unit = await File.ReadAllTextAsync(Path.Combine(NginxInFront.Repository(), "deploy", "libraryshelf.service"));
        // Only the program is not where the unit expects it.
        const string program = "ExecStart=/opt/libraryshelf/LibraryShelf.Web ";
        Assert.Contains(program, unit, StringComparison.Ordinal);
        unit = unit.Replace(program, "ExecStart=/bin/true ", StringComparison.Ordinal);
        if (wrong.Length > 0)
        {
            Assert.Contains(committed, unit, StringComparison.Ordinal);
            unit = unit.Replace(committed, wrong, StringComparison.Ordinal);
        }
        var folder = Directory.CreateTempSubdirectory("shelf-unit-").FullName;
        try
        {
            var file = Path.Combine(folder, "libraryshelf.service");
            await File.WriteAllTextAsync(file, unit);
            using var verify = Process.Start(new ProcessStartInfo("systemd-analyze", ["verify", file]) { RedirectStandardError = true, UseShellExecute = false })!;
            var said = await verify.StandardError.ReadToEndAsync();
            await verify.WaitForExitAsync();
            Assert.Equal(wrong.Length == 0, !said.Contains("libraryshelf.service", StringComparison.Ordinal) && verify.ExitCode == 0);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }
}
