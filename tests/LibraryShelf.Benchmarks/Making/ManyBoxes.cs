using System.Globalization;
using System.Text.Json;
using LibraryShelf.Audio;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Packaging.Keyprints;

namespace LibraryShelf.Benchmarks.Making;

/// <summary>Many published libraries as rows, told in as many different words as a maker would use, each with the keyprint of its one version; no files behind them.</summary>
internal static class ManyBoxes
{
    private static readonly string[] Kinds = ["Mended", "Tarred", "Hollow", "Quiet", "Salt", "Copper", "Drowned", "Winter", "Borrowed", "Long", "Cracked", "Chapel", "Harbour", "Attic", "Painted", "Low Tide", "Rusted", "Tin Roof", "Orchard", "Paper", "Granite", "Lamp Room", "Sunken", "Tallow", "Wicker"];
    private static readonly string[] Things = ["Kettle", "Marimba", "Harmonium", "Zither", "Bells", "Dulcimer", "Flutes", "Drum", "Press", "Loom", "Glasses", "Gate", "Harp", "Organ", "Whistle", "Anvil", "Cradle", "Boiler", "Bows", "Clock"];
    private static readonly string[] Starts = ["Found under a tarpaulin", "Mended with chamois and glue", "Taken from a wreck at low water", "Built from forty jam jars", "Borrowed from a village chapel", "Left in a barn for sixty years", "Turned from one plank of elm", "Cast in a yard behind the quay", "Strung on a bed frame", "Dug out of a dry dock"];
    private static readonly string[] Middles = ["struck with felt at dusk", "bowed with a violin's bow", "blown by hand bellows", "plucked with a bent nail", "tapped with two corks", "rolled with soft mallets", "scraped with a wet thumb", "swung on a long rope", "shaken in a cloth sack", "pressed one key at a time"];
    private static readonly string[] Ends = ["and recorded with the door shut", "with one microphone near and one across the yard", "in a room of brick and lime", "before the tide came back", "over three still nights in March", "and never played so loudly since", "beside a stove that ticks", "with every creak left in", "on a table of slate", "while snow lay on the roof"];
    private static readonly string[] Sounds = ["struck", "plucked", "bowed", "blown", "clicks"];
    private static readonly int[] KeyCounts = [12, 25, 29, 37, 49, 61];

    /// <summary>Boxes of about ten years, the last published at <paramref name="now"/>; every third free.</summary>
    public static async Task AddAsync(ShelfDb db, int count, DateTimeOffset now)
    {
        for (var i = 0; i < count; i++)
        {
            var title = $"{Kinds[i % Kinds.Length]} {Things[i / Kinds.Length % Things.Length]}{(i < Kinds.Length * Things.Length ? "" : " " + i.ToString(CultureInfo.InvariantCulture))}";
            // Steps that are prime to the lists' lengths, so that words meet others each time.
            var (keys, low, at) = (KeyCounts[i * 7 % KeyCounts.Length], 28 + i * 11 % 30, now.AddHours(-175 * i));
            var library = new Library
            {
                Title = title, Slug = title.ToLowerInvariant().Replace(' ', '-'), Sound = Sounds[i * 3 % Sounds.Length], Paint = (Paint)(i % 10), CreatedAt = at, DeclaredAt = at,
                Sentence = $"{Starts[i * 7 % 10]}, {Middles[(i * 3 + i / 10) % 10]} {Ends[(i + i / 100) % 10]}.",
            };
            library.Decide(i % 3 == 0 ? Audience.Free : Audience.Members, at);
            var release = new Release
            {
                Number = $"{1 + i % 3}.{i * 7 % 5}.{i % 4}", CreatedAt = at, Keys = keys, LowestKey = low, HighestKey = low + keys - 1, Layers = 1 + i % 5, Takes = 1 + i % 4, Recordings = keys * (1 + i % 5) * (1 + i % 4),
            };
            foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                release.MoveTo(state, at);
            release.TellAskedAt = null;
            release.Players.Add(new ReleasePlayer { Name = "Pondskater", LowestVersion = $"{1 + i % 3}.{i % 9}" });
            if (i % 2 == 0)
                release.Players.Add(new ReleasePlayer { Name = "Rushlight", LowestVersion = $"{4 + i % 2}", Order = 1 });
            library.Releases.Add(release);
            db.Libraries.Add(library);
            await db.SaveChangesAsync();
            db.Archives.Add(new Archive
            {
                ReleaseId = release.Id, Kind = ArchiveKind.Full, RecipeSha256 = i.ToString("x64", CultureInfo.InvariantCulture), Sha256 = i.ToString("x64", CultureInfo.InvariantCulture),
                Length = 4_000_000L * release.Recordings + i * 7_919L, FileName = $"{title}.zip", CreatedAt = at,
            });
            db.SealedKeyprints.Add(new SealedKeyprint { ReleaseId = release.Id, Measures = RecordingFacts.CurrentGeneration, Print = JsonSerializer.Serialize(PrintOf(release)) });
            await db.SaveChangesAsync();
            db.ChangeTracker.Clear();
        }
    }

    private static Keyprint PrintOf(Release release)
    {
        var (low, high) = (release.LowestKey ?? 0, release.HighestKey ?? 0);
        var reeds = from key in Enumerable.Range(low, high - low + 1)
                    from layer in Enumerable.Range(1, release.Layers)
                    select new Reed
                    {
                        Key = key, Layer = layer, Layers = release.Layers, Takes = release.Takes, RingSeconds = 0.2 + (high - key) * 0.07 + layer * 0.1 + key * 13 % 7 * 0.05,
                        BrightnessHz = 300 + key * 25 + layer * 120, LoudnessDb = -36 + 6 * layer, AttackMs = 5 + key % 9,
                    };
        return new Keyprint([.. reeds], low, high, "", "", 0, 0, 0);
    }
}
