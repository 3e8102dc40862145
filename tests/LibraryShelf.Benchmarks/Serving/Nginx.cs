using System.Diagnostics;
using System.Globalization;
using LibraryShelf.Benchmarks.Making;

namespace LibraryShelf.Benchmarks.Serving;

/// <summary>Debian's nginx with the nginx.conf beside this program, serving one folder.</summary>
internal sealed class Nginx(string root)
{
    public string Files { get; } = Directory.CreateDirectory(Path.Combine(root, "files")).FullName;

    public Uri Address { get; } = new($"http://127.0.0.1:{Shelf.FreePort()}");

    public async Task StartAsync(Bench bench)
    {
        // Its workers give up root's rights, and must still get at the files.
        File.SetUnixFileMode(bench.Folder, File.GetUnixFileMode(bench.Folder) | UnixFileMode.OtherExecute | UnixFileMode.GroupExecute);
        var conf = await File.ReadAllTextAsync(Path.Combine(AppContext.BaseDirectory, "nginx.conf"));
        conf = conf.Replace("@PORT@", Address.Port.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal).Replace("@ROOT@", root, StringComparison.Ordinal);
        var file = Path.Combine(root, "nginx.conf");
        await File.WriteAllTextAsync(file, conf);
        var program = bench.Start(new ProcessStartInfo("nginx", ["-p", root, "-c", file]));
        while (true)
        {
            program.EnsureRunning();
            await Task.Delay(50);
            try
            {
                using var client = new RawClient(Address);
                return;
            }
            catch (System.Net.Sockets.SocketException)
            {
                // Not listening yet.
            }
        }
    }
}
