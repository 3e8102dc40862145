using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Audio;
using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Packaging.Tests.Comparisons;

/// <summary>A small library in memory: struck sounds in 16 bits, a mapping that names them, two players. Edited, it is the next version.</summary>
internal sealed class MadeLibrary
{
    public const int Rate = 22050;

    private static readonly Dictionary<string, RecordingFacts> Measured = [];

    public Dictionary<string, byte[]> Files { get; } = new(StringComparer.Ordinal);
    public List<ComparedPlayer> Players { get; init; } = [new("Pondskater", "1.8"), new("Rushlight", "5")];

    /// <summary>What a region of the mapping says: the recording, its key, its layer (0 or 1) and take (1 or 2).</summary>
    public List<(string Path, int Key, int Layer, int Take)> Regions { get; init; } = [];

    public string MappingPath { get; set; } = "Jar.sfz";

    public string Settings { get; set; } = "ampeg_release=0.4";

    /// <summary>The mapping's text as it is, instead of what the regions say.</summary>
    public string? Mapping { get; set; }

    public string Comment { get; set; } = "";

    public static MadeLibrary Create(int seed, int keys = 6)
    {
        var library = new MadeLibrary();
        for (var key = 60; key < 60 + keys; key++)
            for (var layer = 0; layer < 2; layer++)
                for (var take = 1; take <= 2; take++)
                    library.Add($"Recordings/Jar_{key}_{layer}_{take}.wav", key, layer, take, HashCode(seed, key, layer, take));
        library.Files["Read me.txt"] = "How it was made."u8.ToArray();
        return library;
    }

    public MadeLibrary Copy()
    {
        var copy = new MadeLibrary { Players = [.. Players], Regions = [.. Regions], MappingPath = MappingPath, Settings = Settings, Comment = Comment, Mapping = Mapping };
        foreach (var (path, bytes) in Files)
            copy.Files[path] = bytes;
        return copy;
    }

    public void Add(string path, int key, int layer, int take, int seed)
    {
        Files[path] = Wav(Struck(seed, 440 * Math.Pow(2, (key - 69) / 12.0)));
        Regions.Add((path, key, layer, take));
    }

    public void Remove(string path)
    {
        Files.Remove(path);
        Regions.RemoveAll(r => r.Path == path);
    }

    public void Move(string path, string to)
    {
        Files[to] = Files[path];
        Files.Remove(path);
        Follow(path, to);
    }

    public void Follow(string path, string to)
    {
        for (var i = 0; i < Regions.Count; i++)
            if (Regions[i].Path == path)
                Regions[i] = Regions[i] with { Path = to };
    }

    public ComparedFolder ToFolder()
    {
        var all = new Dictionary<string, byte[]>(Files, StringComparer.Ordinal);
        if (Regions.Count > 0 || Mapping is not null)
            all[MappingPath] = Encoding.UTF8.GetBytes(Sfz());
        var hashes = all.ToDictionary(f => f.Key, f => Convert.ToHexStringLower(SHA256.HashData(f.Value)), StringComparer.Ordinal);
        var byHash = all.GroupBy(f => hashes[f.Key], StringComparer.Ordinal).ToDictionary(g => g.Key, g => g.First().Value, StringComparer.Ordinal);
        var facts = all.Where(f => f.Key.EndsWith(".wav", StringComparison.Ordinal)).Select(f => hashes[f.Key]).Distinct(StringComparer.Ordinal)
            .ToDictionary(h => h, h => Facts(h, byHash[h]), StringComparer.Ordinal);
        return new ComparedFolder(
            [.. all.Select(f => new ComparedFile(f.Key, f.Value.Length, hashes[f.Key]))], facts,
            path => all.TryGetValue(path, out var bytes) ? Encoding.UTF8.GetString(bytes) : null, hash => new MemoryStream(byHash[hash])) { Players = Players };
    }

    private string Sfz()
    {
        if (Mapping is not null)
            return Mapping;
        var text = new StringBuilder($"{Comment}\n<global> {Settings}\n");
        foreach (var (path, key, layer, take) in Regions)
            text.Append($"<region> sample={path} key={key} lovel={(layer == 0 ? 1 : 64)} hivel={(layer == 0 ? 63 : 127)} seq_length=2 seq_position={take}\n");
        return text.ToString();
    }

    private static RecordingFacts Facts(string hash, byte[] bytes)
    {
        lock (Measured)
        {
            if (!Measured.TryGetValue(hash, out var facts))
                Measured[hash] = facts = RecordingReader.Read(new MemoryStream(bytes));
            return facts;
        }
    }

    public static int HashCode(int seed, int key, int layer, int take) => ((seed * 131 + key) * 131 + layer) * 131 + take;

    /// <summary>A third of a second: partials with phases of chance over a breath of noise.</summary>
    public static double[] Struck(int seed, double hz)
    {
        var random = new Random(seed);
        var phases = Enumerable.Range(0, 6).Select(_ => 2 * Math.PI * random.NextDouble()).ToArray();
        var sound = new double[Rate / 3];
        for (var i = 0; i < sound.Length; i++)
            sound[i] = Math.Exp(-6.0 * i / Rate) * Math.Min(1, i / 20.0) * (0.02 * (random.NextDouble() - 0.5)
                + 0.3 * Enumerable.Range(1, 6).Sum(p => Math.Sin(2 * Math.PI * hz * p * i / Rate + phases[p - 1]) / (p * p)));
        return sound;
    }

    /// <summary>16 bits, one channel; <paramref name="tag"/>, when given, is a chunk that says nothing of the sound.</summary>
    public static byte[] Wav(double[] samples, string? tag = null)
    {
        byte[] data = [.. samples.SelectMany(s => BitConverter.GetBytes((short)Math.Clamp(Math.Round(s * 32768), -32768, 32767)))];
        byte[] note = tag is null ? [] : [.. "LIST"u8, .. BitConverter.GetBytes(tag.Length / 2 * 2), .. Encoding.ASCII.GetBytes(tag[..(tag.Length / 2 * 2)])];
        byte[] body =
        [
            .. "WAVEfmt "u8, .. BitConverter.GetBytes(16), .. BitConverter.GetBytes((short)1), .. BitConverter.GetBytes((short)1),
            .. BitConverter.GetBytes(Rate), .. BitConverter.GetBytes(Rate * 2), .. BitConverter.GetBytes((short)2), .. BitConverter.GetBytes((short)16),
            .. "data"u8, .. BitConverter.GetBytes(data.Length), .. data, .. note,
        ];
        return [.. "RIFF"u8, .. BitConverter.GetBytes(body.Length), .. body];
    }

    public double[] Samples(string path)
    {
        var samples = new List<double>();
        RecordingReader.Read(new MemoryStream(Files[path]), (block, _) => samples.AddRange(block));
        return [.. samples];
    }
}
