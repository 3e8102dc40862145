namespace LibraryShelf.Packaging.Keyprints;

/// <summary>
/// What the picture of a library is drawn from: the reeds of one way of playing at one microphone, and what could not be drawn. Reeds are in the order
/// of keys and layers; <paramref name="Lowest"/> and <paramref name="Highest"/> are the keys it reaches over, MIDI 0 to 127.
/// </summary>
/// <param name="Reeds">May be empty: then there is no picture.</param>
/// <param name="Lowest">0 without keys.</param>
/// <param name="Highest">0 without keys.</param>
/// <param name="Articulation">The way of playing that is drawn; "" for the one unnamed.</param>
/// <param name="Microphone">The microphone that is drawn; "" for the one unnamed.</param>
/// <param name="OtherRecordings">Recordings of other ways of playing, microphones, and lifts.</param>
/// <param name="WithoutKey">Recordings that no key is known of.</param>
/// <param name="Unmeasured">Layers of keys that are not drawn because how they sound is not known, for example recordings that end before they die away.</param>
public sealed record Keyprint(
    IReadOnlyList<Reed> Reeds, int Lowest, int Highest, string Articulation, string Microphone, int OtherRecordings, int WithoutKey, int Unmeasured)
{
    /// <summary>Which generation of drawing this is; part of every picture's address, because pictures are kept for good.</summary>
    public const int Generation = 1;

    /// <summary>Keys that have a reed.</summary>
    public int Keys => Reeds.Select(r => r.Key).Distinct().Count();
}
