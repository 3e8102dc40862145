using System.Globalization;
using System.Security.Cryptography;
using LibraryShelf.Audio;
using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.RealInput;

/// <summary>The main job on real recordings: sent, checked, sealed, published, downloaded, compared byte by byte, counted.</summary>
public sealed class RealPianoTests
{
    [Fact]
    public async Task A_real_piano_goes_from_folder_to_download_and_arrives_as_it_was()
    {
        using var temporary = new TemporaryFolder();
        var folder = temporary.File("piano");
        Piano.WriteFolder(folder);
        using var shelf = new PianoShelf();
        await shelf.StartAsync();

        AssertSentAndChecked(await shelf.SendAsync(folder), folder);
        var again = (await shelf.SendAsync(folder)).Json();
        Assert.Equal((0, 0L), (again.GetProperty("sentFiles").GetInt32(), again.GetProperty("sentBytes").GetInt64()));

        var archive = await shelf.PublishAsync("1.0.0");
        var link = await shelf.PressDownloadAsync(archive.ReleaseId);
        var zip = DownloadInTwo(temporary.Path, shelf.Address + link.Path, archive.Length);
        Assert.Equal(archive.Sha256, HashOf(zip));
        Assert.Equal(0, (await Ran.ShelfAsync("verify", zip)).ExitCode);
        AssertUnpacksTo(folder, zip, temporary.File("unpacked"));

        await shelf.UntilAsync(db => db.DownloadTallies.Any(t => t.DownloadId == link.DownloadId && t.FinishedAt != null));
        Assert.Equal(1, await shelf.AskDbAsync(db => Task.FromResult(db.Downloads.Count(d => d.StartedAt != null))));
        await AssertMendedVersionStoresOnlyWhatChangedAsync(shelf, folder);
    }

    /// <summary>
    /// Our reading against an independent one: the peak of each note's mono mix. Tolerance 0.02 dB: the table has two decimals
    /// (0.005), and another build of the Vorbis decoder may round single samples differently.
    /// </summary>
    [Fact]
    public void Peaks_agree_with_an_independent_measurement()
    {
        using var temporary = new TemporaryFolder();
        foreach (var (_, file, expected) in Piano.Notes)
        {
            var mono = temporary.File("mono.wav");
            Piano.DecodeMono(file, mono);
            using var stream = File.OpenRead(mono);
            var facts = RecordingReader.Read(stream, null, CancellationToken.None);
            Assert.True(facts.IsWhole, facts.TroubleWords);
            Assert.InRange(facts.SamplePeakDbfs!.Value, expected - 0.02, expected + 0.02);
        }
    }

    private static void AssertSentAndChecked(Ran sent, string folder)
    {
        Assert.True(sent.ExitCode == 0, sent.Out + sent.Error);
        var json = sent.Json();
        var bytes = Directory.EnumerateFiles(folder, "*", SearchOption.AllDirectories).Sum(f => new FileInfo(f).Length);
        Assert.Equal("checked", json.GetProperty("state").GetString());
        Assert.Equal(31, json.GetProperty("sentFiles").GetInt32());
        Assert.Equal(bytes, json.GetProperty("sentBytes").GetInt64());
    }

    /// <summary>curl takes the first part, then goes on from what it has ("-C -"), as after a broken line.</summary>
    private static string DownloadInTwo(string folder, string link, long length)
    {
        var half = (length / 2).ToString(CultureInfo.InvariantCulture);
        OutsideTool.Run(folder, "curl", "-sSf", "-r", "0-" + half, "-o", "piano.zip", link);
        Assert.Equal((length / 2) + 1, new FileInfo(Path.Combine(folder, "piano.zip")).Length);
        OutsideTool.Run(folder, "curl", "-sSf", "-C", "-", "-o", "piano.zip", link);
        Assert.Equal(length, new FileInfo(Path.Combine(folder, "piano.zip")).Length);
        return Path.Combine(folder, "piano.zip");
    }

    private static void AssertUnpacksTo(string folder, string zip, string target)
    {
        OutsideTool.Run(".", "unzip", "-q", zip, "-d", target);
        var top = Assert.Single(Directory.GetDirectories(target));
        OutsideTool.Run(top, "sha256sum", "--quiet", "--strict", "-c", "CHECKSUMS.sha256");
        foreach (var file in Directory.EnumerateFiles(folder, "*", SearchOption.AllDirectories))
            Assert.Equal(HashOf(file), HashOf(Path.Combine(top, Path.GetRelativePath(folder, file))));
    }

    /// <summary>One mended recording of 30: one file travels, and the disk grows by it and by the new recipe alone.</summary>
    private static async Task AssertMendedVersionStoresOnlyWhatChangedAsync(PianoShelf shelf, string folder)
    {
        var before = Directory.GetFiles(shelf.BlobFolder, "*", SearchOption.AllDirectories);
        var mended = Path.Combine(folder, Piano.Recording(60));
        Piano.DecodeMono("C4v10", mended);
        var sent = (await shelf.SendAsync(folder)).Json();
        Assert.Equal("1.1.0", sent.GetProperty("number").GetString());
        Assert.Equal(new FileInfo(mended).Length, sent.GetProperty("sentBytes").GetInt64());
        var archive = await shelf.PublishAsync("1.1.0");
        var grown = Directory.GetFiles(shelf.BlobFolder, "*", SearchOption.AllDirectories).Except(before).Select(Path.GetFileName);
        Assert.Equal(new[] { HashOf(mended), archive.RecipeSha256 }.Order(), grown.Order());
    }

    private static string HashOf(string file)
    {
        using var stream = File.OpenRead(file);
        return Convert.ToHexStringLower(SHA256.HashData(stream));
    }
}
