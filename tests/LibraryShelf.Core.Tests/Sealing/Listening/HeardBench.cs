using LibraryShelf.Audio.Previews;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Storage;

namespace LibraryShelf.Core.Tests.Sealing.Listening;

/// <summary>Sealed versions of a library of three struck keys, and what is made of them to be heard.</summary>
internal static class HeardBench
{
    /// <summary>Not asked for: brought to the shelf before there was anything to hear.</summary>
    public static async Task<long> SealedAsync(this SealBench bench, string number, double hz = 262)
    {
        var id = await bench.CheckedAsync(number, ("Kettle.sfz", "<region> sample=a.wav lokey=60 hikey=62 pitch_keycenter=60\n"));
        await using (var db = bench.Shelf.Open())
        {
            var file = await bench.FileAsync(db, "a.wav", Struck(hz));
            file.ReleaseId = id;
            db.ReleaseFiles.Add(file);
            await db.SaveChangesAsync();
        }
        await bench.SealedAsync(id);
        return id;
    }

    /// <summary>The same, and published.</summary>
    public static async Task<long> OnShelfAsync(this SealBench bench, string number, double hz = 262)
    {
        var id = await bench.SealedAsync(number, hz);
        await bench.ChangeAsync(id, r => r.MoveTo(ReleaseState.Published, bench.Shelf.Clock.GetUtcNow()));
        return id;
    }

    public static byte[] Struck(double hz, double seconds = 0.6)
    {
        const int rate = 22050;
        var samples = new float[(int)(seconds * rate)];
        for (var i = 0; i < samples.Length; i++)
            samples[i] = (float)(0.5 * Math.Exp(-5.0 * i / rate) * Math.Sin(2 * Math.PI * hz * i / rate));
        return WavFile.Write(new Sound(samples, 1, rate));
    }

    public static async Task<MakeListeningOutcome> MakeAsync(this SealBench bench, long releaseId, IBlobStore? store = null)
    {
        await using var db = bench.Shelf.Open();
        return await new MakeListening(db, store ?? bench.Store, bench.Shelf.Clock).RunAsync(releaseId, CancellationToken.None);
    }

    public static async Task<Unheard> UnheardAsync(this SealBench bench)
    {
        await using var db = bench.Shelf.Open();
        return await new FindUnheard(db, bench.Shelf.Clock).RunAsync(CancellationToken.None);
    }
}
