using System.Globalization;
using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Audio;
using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Benchmarks.Checking;

/// <summary>
/// Two versions of 2,000 recordings (88 keys, stereo, 24 bits, two seconds each) that differ in twenty, measured already: ten softer, five trimmed,
/// five recorded again, of which no other recording is the origin.
/// </summary>
internal static class CompareBench
{
    private const int Recordings = 2_000, Changed = 20, Rate = 48_000, Seconds = 2;

    public static async Task RunAsync(Bench bench)
    {
        var bytes = new Dictionary<string, byte[]>(StringComparer.Ordinal);
        var facts = new Dictionary<string, RecordingFacts>(StringComparer.Ordinal);
        var (old, next) = (new List<ComparedFile>(), new List<ComparedFile>());
        for (var i = 0; i < Recordings; i++)
        {
            var change = i % (Recordings / Changed) == 0 ? i / (Recordings / Changed) : (int?)null;
            var before = Recording(i, 1, 0);
            old.Add(Measured(i, before, change is not null));
            var after = change switch
            {
                null => before,
                < 10 => Recording(i, 0.7, 0),
                < 15 => Recording(i, 1, 480),
                _ => Recording(i + Recordings, 1, 0),
            };
            next.Add(change is null ? old[^1] : Measured(i, after, true));
        }
        var mapping = Mapping();
        ComparedFolder Folder(List<ComparedFile> files) => new(
            [.. files, new ComparedFile("Bench.sfz", mapping.Length, new string('0', 64))], facts, path => path == "Bench.sfz" ? mapping : null, hash => new MemoryStream(bytes[hash]));
        var seconds = await bench.InTurnsAsync(_ =>
        {
            var clock = System.Diagnostics.Stopwatch.StartNew();
            var found = FolderComparison.Compare(Folder(old), Folder(next), "1.0.0", CancellationToken.None).Changes;
            var spent = clock.Elapsed.TotalSeconds;
            if (found.Count != Changed || found.Count(c => c.Kind == ChangeKind.Level) != 10 || found.Count(c => c.Kind == ChangeKind.ReRecorded) != 5)
                throw new InvalidOperationException($"It found {string.Join(", ", found.CountBy(c => c.Kind))}.");
            return Task.FromResult(spent);
        });
        bench.Add("comparing 2,000 recordings of which 20 differ", seconds[0], "s", "≤ 1", seconds[0] <= 1);

        ComparedFile Measured(int i, byte[] wav, bool isKept)
        {
            var hash = Convert.ToHexStringLower(SHA256.HashData(wav));
            facts[hash] = RecordingReader.Read(new MemoryStream(wav));
            if (isKept)
                bytes[hash] = wav;
            return new ComparedFile(PathOf(i), wav.Length, hash);
        }
    }

    private static string PathOf(int i) => string.Create(CultureInfo.InvariantCulture, $"r/{i:0000}.wav");

    private static string Mapping()
    {
        var text = new StringBuilder();
        for (var i = 0; i < Recordings; i++)
        {
            var layer = i / 88 % 8;
            text.Append(CultureInfo.InvariantCulture, $"<region> sample={PathOf(i)} key={21 + i % 88} lovel={layer * 16} hivel={layer * 16 + 15} seq_length=3 seq_position={1 + i / 704}\n");
        }
        return text.ToString();
    }

    /// <summary>A dying tone with a breath of noise, begun so many frames in.</summary>
    private static byte[] Recording(int seed, double gain, int cut)
    {
        var random = new Random(seed);
        var hz = 27.5 * Math.Pow(2, seed % 88 / 12.0);
        var frames = Rate * Seconds;
        var data = new byte[6 * (frames - cut)];
        for (var i = 0; i < frames; i++)
            for (var channel = 0; channel < 2; channel++)
            {
                var sample = (int)Math.Round(gain * 4_000_000 * Math.Exp(-2.0 * i / Rate)
                    * (Math.Sin(2 * Math.PI * hz * i / Rate + channel) + 0.1 * (random.NextDouble() - 0.5)));
                if (i >= cut)
                    for (var b = 0; b < 3; b++)
                        data[6 * (i - cut) + 3 * channel + b] = (byte)(sample >> (8 * b));
            }
        byte[] fmt = [1, 0, 2, 0, .. BitConverter.GetBytes(Rate), .. BitConverter.GetBytes(6 * Rate), 6, 0, 24, 0];
        return [.. "RIFF"u8, .. BitConverter.GetBytes(36 + data.Length), .. "WAVEfmt "u8, 16, 0, 0, 0, .. fmt, .. "data"u8, .. BitConverter.GetBytes(data.Length), .. data];
    }
}
