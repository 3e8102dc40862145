using System.Diagnostics;
using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using System.Text.RegularExpressions;
using LibraryShelf.Audio;
using LibraryShelf.Packaging.Comparisons;
using LibraryShelf.Packaging.Listening;
using LibraryShelf.Web.Setup.Demo.Folders;
using LibraryShelf.Web.Setup.Demo.Recipes;

namespace LibraryShelf.Web.Tests.Setup.Demo.Folders;

/// <summary>
/// What can be heard of each library of the practice shop, decoded and measured by ffmpeg's ebur128: the loudness that the page says, the one that EBU R 128 asks for,
/// and its limit of true peak. It prints one decimal: that −1.0 is not passed says that the peak it found is below −0.95 dBTP.
/// </summary>
public sealed partial class HeardDemoTests : IDisposable
{
    private static readonly ShopRecipe Shop = SeedReader.Read(SeedReader.DefaultFolder);

    private readonly string folder = Directory.CreateTempSubdirectory("shelf-heard-").FullName;

    public static TheoryData<string> Slugs() => [.. Shop.Libraries.Select(l => l.Slug)];

    [Theory, MemberData(nameof(Slugs))]
    public void Excerpts_and_the_playable_set_are_as_loud_as_is_said_and_no_louder_than_may_be(string slug)
    {
        var library = Shop.Libraries.Single(l => l.Slug == slug);
        var made = ListeningMaking.Make(FolderOf(library, library.Versions[^1]), library.IsPitched, CancellationToken.None)!;
        foreach (var excerpt in made.Excerpts)
        {
            var (loudness, peak) = Ask(Save(made.Files.Single(f => f.Name == $"{excerpt.Name}.opus").Bytes));
            Assert.Equal(excerpt.LoudnessLufs!.Value, loudness, 0.5);
            Assert.InRange(peak, -70, ListeningSet.LimitDbtp);
        }
        Assert.Equal(made.Excerpts.Count > 0 && !made.IsLimited, Math.Abs(made.LoudnessLufs!.Value - ListeningSet.TargetLufs) < 0.5);

        var manifest = made.Files.Single(f => f.Name == ListeningSet.ManifestName).Bytes;
        foreach (var set in JsonSerializer.Deserialize<ListeningManifest>(manifest.Span, JsonSerializerOptions.Web)!.Sets)
        {
            var bytes = made.Files.Single(f => f.Name == set.File).Bytes;
            Assert.InRange(bytes.Length + manifest.Length, 1, 2_999_999);
            foreach (var region in set.Regions.Where((_, i) => i % Math.Max(1, set.Regions.Count / 5) == 0))
                Assert.InRange(Ask(Save(bytes.Slice(region.At, region.Bytes))).Peak, -90, ListeningSet.LimitDbtp);
        }
    }

    public void Dispose() => Directory.Delete(folder, recursive: true);

    private static ComparedFolder FolderOf(LibraryRecipe library, VersionRecipe version)
    {
        var files = FolderPlan.Of(library, version).ToDictionary(
            f => f.Path, f => f.Recording is { } recording ? RecordingBytes.Of(recording) : f.Bytes!, StringComparer.Ordinal);
        var hashes = files.ToDictionary(f => f.Key, f => Convert.ToHexStringLower(SHA256.HashData(f.Value)), StringComparer.Ordinal);
        var byHash = files.GroupBy(f => hashes[f.Key], StringComparer.Ordinal).ToDictionary(g => g.Key, g => g.First().Value, StringComparer.Ordinal);
        var facts = files.Where(f => f.Key.EndsWith(".wav", StringComparison.OrdinalIgnoreCase)).Select(f => hashes[f.Key]).Distinct(StringComparer.Ordinal)
            .ToDictionary(h => h, h => RecordingReader.Read(new MemoryStream(byHash[h])), StringComparer.Ordinal);
        return new ComparedFolder([.. files.Select(f => new ComparedFile(f.Key, f.Value.Length, hashes[f.Key]))], facts,
            path => files.TryGetValue(path, out var bytes) ? Encoding.UTF8.GetString(bytes) : null, hash => new MemoryStream(byHash[hash]));
    }

    private string Save(ReadOnlyMemory<byte> bytes)
    {
        var path = Path.Combine(folder, "heard");
        File.WriteAllBytes(path, bytes.ToArray());
        return path;
    }

    private static (double Loudness, double Peak) Ask(string path)
    {
        using var process = Process.Start(new ProcessStartInfo("ffmpeg", ["-nostdin", "-nostats", "-i", path, "-af", "ebur128=peak=true", "-f", "null", "-"]) { RedirectStandardError = true, UseShellExecute = false })!;
        var said = process.StandardError.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0, said);
        var summary = said[said.LastIndexOf("Summary:", StringComparison.Ordinal)..];
        return (Number(Integrated().Match(summary)), Number(Peak().Match(summary)));
    }

    private static double Number(Match match) => match.Groups[1].ValueSpan is "-inf" ? -90 : double.Parse(match.Groups[1].ValueSpan, CultureInfo.InvariantCulture);

    [GeneratedRegex(@"I:\s+(-?[\d.]+) LUFS", RegexOptions.None, 1000)]
    private static partial Regex Integrated();

    [GeneratedRegex(@"Peak:\s+(-?[\d.]+|-inf) dBFS", RegexOptions.None, 1000)]
    private static partial Regex Peak();
}
