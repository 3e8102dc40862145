using System.Text;

namespace LibraryShelf.Audio.Files;

/// <summary>The bext chunk of a Broadcast Wave file: its first 256 bytes are a description in ASCII (EBU Tech 3285).</summary>
internal static class BextChunk
{
    /// <summary>Bytes worth reading of a bext chunk.</summary>
    public const int MaxLength = 256;

    /// <summary>The description up to its first NUL, trimmed; what is not printable becomes a space.</summary>
    public static string Description(ReadOnlySpan<byte> bytes)
    {
        bytes = bytes[..Math.Min(bytes.Length, MaxLength)];
        var end = bytes.IndexOf((byte)0);
        var text = Encoding.Latin1.GetString(end < 0 ? bytes : bytes[..end]);
        return string.Concat(text.Select(c => char.IsControl(c) ? ' ' : c)).Trim();
    }
}
