using System.Diagnostics;
using LibraryShelf.Benchmarks.Making;

namespace LibraryShelf.Benchmarks.Sending;

/// <summary>
/// A large library sent by `shelf send`, checked and sealed, against sha256sum over the same files; then a version with 1 % of
/// the bytes changed against the first. Every round has its own library and its own bytes.
/// </summary>
internal static class SendBench
{
    private const int MendedFiles = 4; // of 440: just under 1 %
    private const int WarmRounds = 16;

    public static async Task RunAsync(Bench bench)
    {
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder("send"));
        var server = await shelf.StartAsync(bench);
        using var maker = new MakerAtWork(shelf, server, bench.NewFolder("cache"));
        await maker.SignInAsync();
        await WarmAsync(bench, maker);

        List<double> first = [], intake = [], sums = [], second = [], growth = [];
        for (var round = 0; round < bench.Rounds; round++)
        {
            var library = new MadeLibrary(bench.NewFolder($"piano-{round}"));
            library.Make(bench.LibraryBytes, seed: (ulong)(round + 1) * 1_000_000);
            await SettleAsync();
            var slug = await maker.AddLibraryAsync($"Bench Piano {round}");
            sums.Add(await Sha256SumAsync(library));
            var (total, check) = await maker.SendAndSealAsync(slug, library.Folder);
            first.Add(total);
            intake.Add(total - check);
            var before = await BytesOfAsync(shelf);
            var changed = library.Mend(MendedFiles, seed: (ulong)(round + 1) * 1_000_000_000);
            await SettleAsync();
            second.Add((await maker.SendAndSealAsync(slug, library.Folder)).Total);
            growth.Add((await BytesOfAsync(shelf) - before) / (double)changed);
            Bench.Say($"sha256sum {sums[^1]:0.00} s, first {first[^1]:0.00} s ({intake[^1]:0.00} s without its check), second {second[^1]:0.000} s, disk × {growth[^1]:0.000} of the changed bytes");
            Directory.Delete(library.Folder, recursive: true);
        }
        // With its check, which measures every recording and has a goal of its own (`check`).
        var ratio = Bench.Median(first.Zip(sums, (a, b) => a / b));
        bench.Add("a new library sent, checked and sealed ÷ sha256sum", ratio, "×", "≤ 2", ratio <= 2);
        Bench.Say($"without its check: {Bench.Median(intake.Zip(sums, (a, b) => a / b)):0.00} ×");
        var part = 100 * Bench.Median(second.Zip(first, (a, b) => a / b));
        bench.Add("a version with 1 % changed, sent, checked and sealed ÷ the first one", part, "%", "≤ 5", part <= 5);
        var grown = Bench.Median(growth);
        bench.Add("disk growth of that version ÷ changed bytes", grown, "×", "≤ 1.1", grown <= 1.1);
    }

    /// <summary>
    /// A server that has been up for a while has its code compiled; so has this one. The runtime compiles a method well when it was called thirty times:
    /// of two mended versions a round each is compared with the one before.
    /// </summary>
    private static async Task WarmAsync(Bench bench, MakerAtWork maker)
    {
        var library = new MadeLibrary(bench.NewFolder("small"));
        for (var once = 0; once < WarmRounds; once++)
        {
            library.Make(20_000_000, seed: (ulong)once * 1_000_000);
            var slug = await maker.AddLibraryAsync($"Small Piano {once}");
            await maker.SendAndSealAsync(slug, library.Folder);
            for (var mended = 0UL; mended < 2; mended++)
            {
                library.Mend(MendedFiles, seed: 70_000 + (((2 * (ulong)once) + mended) * MendedFiles));
                await maker.SendAndSealAsync(slug, library.Folder);
            }
        }
    }

    private static async Task<double> Sha256SumAsync(MadeLibrary library)
    {
        var begun = Stopwatch.GetTimestamp();
        await ProgramUnderTest.Start(new ProcessStartInfo("sha256sum", library.Recordings)).FinishAsync();
        return Stopwatch.GetElapsedTime(begun).TotalSeconds;
    }

    /// <summary>What was just written is on the disk before the clock starts, so that no rival pays for the making.</summary>
    private static Task SettleAsync() => ProgramUnderTest.Start(new ProcessStartInfo("sync")).FinishAsync();

    /// <summary>Without the database's log of what it writes next, which is written round and round.</summary>
    private static async Task<long> BytesOfAsync(Shelf shelf)
    {
        await shelf.EmptyLogAsync();
        return new DirectoryInfo(shelf.Paths.Root).EnumerateFiles("*", SearchOption.AllDirectories).Sum(f => f.Length);
    }
}
