using System.Text;

namespace LibraryShelf.Web.Setup.Demo.Sounds;

/// <summary>
/// SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014): small, and the same everywhere,
/// so that the invented recordings are the same bytes on any machine, any day.
/// </summary>
internal sealed class SplitMix(ulong seed)
{
    private ulong _state = seed;

    /// <summary>A generator of its own for each name, through FNV-1a (64 bit, offset basis and prime of its authors' page).</summary>
    public static SplitMix For(string name)
    {
        var hash = 0xcbf29ce484222325UL;
        foreach (var b in Encoding.UTF8.GetBytes(name))
            hash = unchecked((hash ^ b) * 0x100000001b3UL);
        return new SplitMix(hash);
    }

    public ulong Next()
    {
        unchecked
        {
            var z = _state += 0x9e3779b97f4a7c15UL;
            z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9UL;
            z = (z ^ (z >> 27)) * 0x94d049bb133111ebUL;
            return z ^ (z >> 31);
        }
    }

    /// <summary>Even over [0, 1).</summary>
    public double Unit() => (Next() >> 11) * (1.0 / (1UL << 53));

    /// <summary>Even over [-1, 1).</summary>
    public double Signed() => (2 * Unit()) - 1;
}
