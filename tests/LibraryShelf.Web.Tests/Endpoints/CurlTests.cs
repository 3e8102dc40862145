using System.Diagnostics;
using System.IO.Compression;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>The shelf as seen by a client that is not ours (curl 7.88 and later).</summary>
public sealed class CurlTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("shelf-curl-").FullName;

    private async Task<(int Code, string Out)> CurlAsync(StockedHost shelf, string path, params string[] arguments)
    {
        var start = new ProcessStartInfo("curl") { UseShellExecute = false, WorkingDirectory = _folder, RedirectStandardOutput = true, RedirectStandardError = true };
        foreach (var argument in (string[])["-sS", .. arguments, new Uri(shelf.Address, path).AbsoluteUri]) start.ArgumentList.Add(argument);
        using var process = Process.Start(start)!;
        var error = process.StandardError.ReadToEndAsync();
        var output = await process.StandardOutput.ReadToEndAsync();
        await process.WaitForExitAsync();
        return (process.ExitCode, output + await error);
    }

    private string Saved => Path.Combine(_folder, "saved.zip");

    [Fact]
    public async Task Stopped_half_way_and_resumed_it_is_the_same_archive_and_counts_as_finished()
    {
        await using var shelf = await StockedHost.MakeAsync(24 << 20, 700);
        var link = await shelf.LinkAsync();
        // curl gives up by itself (exit code 28: operation timeout) long before the end, and well after the beginning on a busy machine.
        var (stopped, _) = await CurlAsync(shelf, link.Path, "-o", Saved, "--limit-rate", "2M", "--max-time", "5");
        Assert.Equal(28, stopped);
        Assert.InRange(new FileInfo(Saved).Length, 1, shelf.Whole.Length - 1);

        var (code, _) = await CurlAsync(shelf, link.Path, "-f", "-C", "-", "-o", Saved);
        Assert.Equal(0, code);
        Assert.Equal(shelf.Whole, await File.ReadAllBytesAsync(Saved));
        using (var zip = ZipFile.OpenRead(Saved)) Assert.Equal(3, zip.Entries.Count);
        await shelf.EventsAsync(link.DownloadId, e => e.Exists(one => one.To == shelf.Whole.Length));
        Assert.NotNull((await shelf.CountAsync(link.DownloadId))!.FinishedAt);
        Assert.Empty(shelf.Complained);
    }

    [Fact]
    public async Task A_fresh_link_goes_on_where_a_run_out_one_stopped()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var old = await shelf.LinkAsync();
        Assert.Equal(0, (await CurlAsync(shelf, old.Path, "-f", "-r", "0-1999", "-o", Saved)).Code);
        shelf.Clock.Advance(TimeSpan.FromDays(3));
        var (refused, _) = await CurlAsync(shelf, old.Path, "-f", "-C", "-", "-o", Saved);
        Assert.Equal(22, refused); // an HTTP error under -f
        Assert.Equal(2000, new FileInfo(Saved).Length);
        Assert.Equal(0, (await CurlAsync(shelf, (await shelf.LinkAsync()).Path, "-f", "-C", "-", "-o", Saved)).Code);
        Assert.Equal(shelf.Whole, await File.ReadAllBytesAsync(Saved));
    }

    [Fact]
    public async Task It_saves_under_the_name_it_is_told()
    {
        await using var shelf = await StockedHost.MakeAsync(300);
        var (code, said) = await CurlAsync(shelf, (await shelf.LinkAsync()).Path, "-f", "-OJ", "-w", "%{filename_effective}");
        Assert.Equal((0, "Flugel & Tin 1.0.0.zip"), (code, said)); // curl reads the plain form only
        Assert.Equal(shelf.Whole, await File.ReadAllBytesAsync(Path.Combine(_folder, said)));
    }

    [Fact]
    public async Task Many_ranges_at_once_are_parts_and_too_many_are_refused()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var link = await shelf.LinkAsync();
        Assert.Equal("206", (await CurlAsync(shelf, link.Path, "-r", "0-9,100-199,-5", "-o", Saved, "-w", "%{http_code}")).Out);
        var many = string.Join(',', Enumerable.Range(0, 17).Select(i => $"{i * 20}-{(i * 20) + 1}"));
        Assert.Equal("416 0", (await CurlAsync(shelf, link.Path, "-r", many, "-o", Saved, "-w", "%{http_code} %{size_download}")).Out);
    }

    public void Dispose() => Directory.Delete(_folder, recursive: true);
}
