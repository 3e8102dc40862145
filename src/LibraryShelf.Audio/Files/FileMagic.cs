using System.Text;

namespace LibraryShelf.Audio.Files;

/// <summary>Tells a recording's container from its first bytes.</summary>
internal static class FileMagic
{
    /// <summary>Enough first bytes to tell any container below.</summary>
    public const int Length = 12;

    /// <summary>
    /// Short lower-case name of the container, or "" when no recording starts like this. Sources: RIFF (Microsoft and IBM 1991),
    /// RF64 (EBU Tech 3306), BW64 (ITU-R BS.2088), AIFF (Apple 1989), FLAC (RFC 9639), Ogg (RFC 3533), MP3 (ID3v2 or frame sync).
    /// </summary>
    public static string ContainerOf(ReadOnlySpan<byte> start)
    {
        if (Has(start, 8, "WAVE"))
            return Has(start, 0, "RIFF") ? "wav" : Has(start, 0, "RF64") ? "rf64" : Has(start, 0, "BW64") ? "bw64" : Has(start, 0, "RIFX") ? "rifx" : "";
        if (Has(start, 0, "FORM") && (Has(start, 8, "AIFF") || Has(start, 8, "AIFC")))
            return "aiff";
        if (Has(start, 0, "fLaC"))
            return "flac";
        if (Has(start, 0, "OggS"))
            return "ogg";
        if (Has(start, 0, "caff"))
            return "caf";
        if (Has(start, 0, "riff"))
            return "w64";
        if (Has(start, 4, "ftyp"))
            return "mp4";
        var isMpeg = start.Length >= 2 && start[0] == 0xFF && (start[1] & 0xE6) is 0xE2; // frame sync, layer III
        return Has(start, 0, "ID3") || isMpeg ? "mp3" : "";
    }

    /// <summary>True for the containers that <see cref="WavReader"/> reads.</summary>
    public static bool IsRiffWave(string container) => container is "wav" or "rf64" or "bw64";

    /// <summary>True for the form AIFC, whose samples may be coded.</summary>
    public static bool IsAiffC(ReadOnlySpan<byte> start) => Has(start, 8, "AIFC");

    private static bool Has(ReadOnlySpan<byte> bytes, int at, string id) =>
        bytes.Length >= at + id.Length && bytes.Slice(at, id.Length).SequenceEqual(Encoding.ASCII.GetBytes(id));
}
