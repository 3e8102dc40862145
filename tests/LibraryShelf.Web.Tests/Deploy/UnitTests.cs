using System.Diagnostics;

namespace LibraryShelf.Web.Tests.Deploy;

/// <summary>deploy/libraryshelf.service as systemd itself reads it.</summary>
public sealed class UnitTests
{
    /// <summary>What the committed unit gives a setting.</summary>
    public static string Setting(string name) => Assert.Single(
        File.ReadAllLines(Path.Combine(NginxInFront.Repository(), "deploy", "libraryshelf.service")), l => l.StartsWith($"Environment={name}=", StringComparison.Ordinal))
        .Split('=', 3)[2];

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
