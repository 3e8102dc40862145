using System.Globalization;
using LibraryShelf.Cli.Tests.Output;
using LibraryShelf.Packaging.Tests.Archives;

namespace LibraryShelf.Cli.Tests.RealInput;

/// <summary>A real piano's folder, edited at random by programs that are not ours: `shelf compare` finds exactly the edits made.</summary>
public sealed class RealCompareTests
{
    private sealed record Edit(string Kind, string Path, string? From, double? GainDb);

    [Fact]
    public async Task The_edits_made_to_a_real_piano_are_found_and_nothing_else()
    {
        using var temporary = new TemporaryFolder();
        var old = temporary.File("old");
        Piano.WriteFolder(old);
        foreach (var seed in (int[])[1, 2, 3])
        {
            var next = temporary.File($"new {seed}");
            OutsideTool.Run(".", "cp", "-r", old, next);
            var random = new Random(seed);
            var notes = Piano.Notes.Select(n => n.Note).ToArray();
            random.Shuffle(notes);
            // Each kind once, on notes of chance.
            var edits = Enumerable.Range(0, 8).Select(kind => Make(old, next, kind, notes[kind], random)).OrderBy(e => e.Path, StringComparer.Ordinal).ToList();
            var ran = await Ran.ShelfAsync("compare", old, next, "--json");
            Assert.Equal((seed, 1, ""), (seed, ran.ExitCode, ran.Error));
            var found = ran.Json().GetProperty("changes").EnumerateArray().Select(c => new Edit(
                c.GetProperty("kind").GetString()!, c.GetProperty("path").GetString()!, c.TryGetProperty("from", out var from) ? from.GetString() : null,
                c.TryGetProperty("gainDb", out var gain) ? Math.Round(gain.GetDouble(), 2) : null)).OrderBy(e => e.Path, StringComparer.Ordinal).ToList();
            // The mapping lost the removed note's keys, and nothing else about it is told.
            Assert.Equal([.. edits, new Edit("remapped", "piano.sfz", null, null)], found.OrderBy(e => e.Path == "piano.sfz").ToList());
            Assert.Equal("2.0.0", ran.Json().GetProperty("proposed").GetProperty("number").GetString());
        }
    }

    private static Edit Make(string old, string folder, int kind, int note, Random random)
    {
        var path = Piano.Recording(note);
        var elsewhere = $"recordings/other {random.Next(1_000_000)}.wav";
        var gain = Math.Round(0.5 + 8 * random.NextDouble(), 2);
        switch (kind)
        {
            case 0:
                Work(old, folder, path, path, "-af", string.Create(CultureInfo.InvariantCulture, $"volume=-{gain}dB"));
                return new("level", path, null, -gain);
            case 1:
                Work(old, folder, path, path, "-af", $"atrim=start_sample={random.Next(1, 2_000)}");
                return new("trimmed", path, null, null);
            case 2:
                Work(old, folder, path, path, "-metadata", "title=Said otherwise");
                return new("retagged", path, null, null);
            case 3:
                File.Move(Path.Combine(folder, path), Path.Combine(folder, elsewhere));
                Remap(folder, line => line.Replace($"sample={path} ", $"sample={elsewhere} ", StringComparison.Ordinal));
                return new("moved", elsewhere, path, null);
            case 4:
                File.Delete(Path.Combine(folder, path));
                Remap(folder, line => line.Contains($"sample={path} ", StringComparison.Ordinal) ? "" : line);
                return new("removed", path, null, null);
            case 5:
                // Another string bent to this pitch stands for another take.
                Work(old, folder, Piano.Recording(note < 100 ? note + 3 : note - 3), path, "-af", $"asetrate={(note < 100 ? 40_363 : 57_082)},aresample=48000");
                return new("re-recorded", path, null, null);
            case 6:
                Work(old, folder, path, elsewhere, "-af", "atempo=0.93");
                return new("added", elsewhere, null, null);
            default:
                Work(old, folder, path, path, "-af", string.Create(CultureInfo.InvariantCulture, $"volume=-{gain}dB"));
                File.Move(Path.Combine(folder, path), Path.Combine(folder, elsewhere));
                Remap(folder, line => line.Replace($"sample={path} ", $"sample={elsewhere} ", StringComparison.Ordinal));
                return new("level", elsewhere, path, -gain);
        }
    }

    private static void Remap(string folder, Func<string, string> edit)
    {
        var mapping = Path.Combine(folder, "piano.sfz");
        File.WriteAllLines(mapping, File.ReadAllLines(mapping).Select(edit));
    }

    /// <summary>By ffmpeg, in 24 bits, from the older folder's recording.</summary>
    private static void Work(string old, string folder, string from, string to, params string[] how)
    {
        var made = Path.Combine(folder, "made.wav");
        OutsideTool.Run(".", "ffmpeg", ["-nostdin", "-v", "error", "-y", "-i", Path.Combine(old, from), .. how, "-c:a", "pcm_s24le", made]);
        File.Move(made, Path.Combine(folder, to), overwrite: true);
    }
}
