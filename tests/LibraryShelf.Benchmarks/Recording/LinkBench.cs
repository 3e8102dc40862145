using System.Diagnostics;
using System.Security.Cryptography;
using LibraryShelf.Core.Downloads;

namespace LibraryShelf.Benchmarks.Recording;

/// <summary>Reading a link and verifying its signature, without the database row.</summary>
internal static class LinkBench
{
    private const int Times = 100_000;
    private const double Goal = 10;

    public static async Task RunAsync(Bench bench)
    {
        var secret = RandomNumberGenerator.GetBytes(32);
        var recipe = new string('a', 64);
        var open = new DownloadLink("aBcDeFgHiJkLmNoPqRsTuV", "Mended Kettle 1.2.0.zip", 1_800_000_000, 1_800_090_000, 3, Mac: "");
        var path = LinkText.Write(open with { Mac = LinkSigner.Sign(secret, open, 42, recipe) });
        Verify(secret, path, recipe);
        var seconds = await bench.InTurnsAsync(_ => Task.FromResult(Verify(secret, path, recipe)));
        var micros = seconds[0] / Times * 1e6;
        bench.Add("verifying a link", micros, "µs", $"< {Goal}", micros < Goal);
    }

    private static double Verify(byte[] secret, string path, string recipe)
    {
        var begun = Stopwatch.GetTimestamp();
        for (var i = 0; i < Times; i++)
            if (LinkText.Read(path) is not { } link || !LinkSigner.IsGenuine(secret, link, 42, recipe))
                throw new InvalidOperationException("A genuine link was refused.");
        return Stopwatch.GetElapsedTime(begun).TotalSeconds;
    }
}
