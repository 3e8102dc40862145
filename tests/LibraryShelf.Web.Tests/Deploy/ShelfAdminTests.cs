using System.Diagnostics;

namespace LibraryShelf.Web.Tests.Deploy;

/// <summary>deploy/shelf-admin gives the program what the unit would, as systemctl prints it, and becomes the owner of the data.</summary>
public sealed class ShelfAdminTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("shelf-admin-").FullName;

    public void Dispose() => Directory.Delete(folder, recursive: true);

    [Fact]
    public async Task The_programs_settings_are_the_units_and_its_files_win()
    {
        var data = Directory.CreateDirectory(Path.Combine(folder, "state", "libraryshelf")).FullName;
        await WriteAsync("settings.env", """
            # a comment
            Shelf__Database__Connection="Host=db;Username=shelf;Password=a b"
            Shelf__PublicUrl='https://other.example'
            Shelf__Mail__SmtpUser=relay
            """);
        // As systemd 252 prints them: values that a shell would take apart stand in quotes.
        await WriteAsync("bin/systemctl", $"""
            #!/bin/sh
            case "$*" in
              *=Environment\ *) echo 'Shelf__DataDirectory={data} "AllowedHosts=a.example;b.example" Shelf__PublicUrl=https://shelf.example' ;;
              *=EnvironmentFiles\ *) echo '{folder}/settings.env (ignore_errors=no)' ;;
            esac
            """);
        await WriteAsync("program/LibraryShelf.Web", """
            #!/bin/sh
            env | grep -E '^(Shelf__|AllowedHosts)' | sort
            echo "who $(id -u)"; echo "words $*"; pwd
            """);
        // 65534 is nobody everywhere. Only root can give it the data, and only root becomes somebody else.
        var who = Environment.UserName == "root" ? "65534" : null;
        if (who is not null)
        {
            using var given = Process.Start("chown", ["-R", who, folder]);
            await given.WaitForExitAsync();
        }
        var start = new ProcessStartInfo("sh", [Path.Combine(Root(), "deploy", "shelf-admin"), "recover", "maker@tinworks.example"])
        {
            UseShellExecute = false, RedirectStandardOutput = true, RedirectStandardError = true,
        };
        start.Environment["PATH"] = $"{folder}/bin:{Environment.GetEnvironmentVariable("PATH")}";
        start.Environment["SHELF_PROGRAM"] = Path.Combine(folder, "program", "LibraryShelf.Web");
        using var process = Process.Start(start)!;
        var output = await process.StandardOutput.ReadToEndAsync();
        var error = await process.StandardError.ReadToEndAsync();
        await process.WaitForExitAsync();
        Assert.Equal(("", 0), (error, process.ExitCode));
        var lines = output.Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(
            [
                "AllowedHosts=a.example;b.example", $"Shelf__DataDirectory={data}", "Shelf__Database__Connection=Host=db;Username=shelf;Password=a b",
                "Shelf__Mail__SmtpUser=relay", "Shelf__PublicUrl=https://other.example",
            ],
            lines[..5]);
        if (who is not null)
            Assert.Equal($"who {who}", lines[5]);
        Assert.Equal("words admin recover maker@tinworks.example", lines[6]);
        Assert.Equal(Path.Combine(folder, "program"), lines[7]);
    }

    /// <summary>A dynamic user's data lies where its own user can't reach it from outside the service, and shelf-admin is outside.</summary>
    [Fact]
    public void The_unit_has_a_user_of_its_own_and_names_settings_that_exist()
    {
        var unit = File.ReadAllLines(Path.Combine(Root(), "deploy", "libraryshelf.service"));
        Assert.Contains("User=libraryshelf", unit);
        Assert.DoesNotContain(unit, l => l.StartsWith("DynamicUser=yes", StringComparison.Ordinal));
        var named = unit.Concat(File.ReadAllLines(Path.Combine(Root(), "deploy", "Containerfile")))
            .SelectMany(l => l.Split(' ', '=', '\\')).Where(w => w.StartsWith("Shelf__", StringComparison.Ordinal)).Distinct(StringComparer.Ordinal).ToList();
        Assert.NotEmpty(named);
        Assert.All(named, n => Assert.NotNull(typeof(Core.Shared.ShelfSettings).GetProperty(n["Shelf__".Length..])));
    }

    private async Task WriteAsync(string name, string text)
    {
        var file = Path.Combine(folder, name);
        Directory.CreateDirectory(Path.GetDirectoryName(file)!);
        await File.WriteAllTextAsync(file, text + "\n");
        if (!OperatingSystem.IsWindows())
            File.SetUnixFileMode(file, UnixFileMode.UserRead | UnixFileMode.UserExecute | UnixFileMode.GroupRead | UnixFileMode.GroupExecute | UnixFileMode.OtherRead | UnixFileMode.OtherExecute);
    }

    private static string Root()
    {
        var at = new DirectoryInfo(AppContext.BaseDirectory);
        while (at is not null && !File.Exists(Path.Combine(at.FullName, "LibraryShelf.sln")))
            at = at.Parent;
        return at!.FullName;
    }
}
