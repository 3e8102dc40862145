namespace LibraryShelf.Audio.Files;

/// <summary>
/// The inst chunk, seven bytes: note, fine tuning in cents, gain in dB, then the keys and velocities it is meant for.
/// Layout: "New Multimedia Data Types and Data Techniques" (Microsoft, 15 April 1994), section "Instrument".
/// </summary>
internal sealed record InstChunk(int? Note)
{
    public const int MaxLength = 7;

    public static InstChunk? Parse(ReadOnlySpan<byte> bytes) =>
        bytes.Length < MaxLength ? null : new InstChunk(bytes[0] <= 127 ? bytes[0] : null);
}
