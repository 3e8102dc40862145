using System.Text;

namespace LibraryShelf.Packaging.Mappings;

/// <summary>A mapping's bytes as text.</summary>
public static class MappingText
{
    /// <summary>Larger mapping files are not read (16 MiB is some 200,000 lines).</summary>
    public const int MaxBytes = 16 << 20;

    private static readonly UTF8Encoding Strict = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true);

    /// <summary>UTF-8, with or without a byte order mark; where that fails, Latin-1, which older editors wrote.</summary>
    public static string Decode(ReadOnlySpan<byte> bytes)
    {
        if (bytes.StartsWith(Encoding.UTF8.Preamble))
            bytes = bytes[Encoding.UTF8.Preamble.Length..];
        try
        {
            return Strict.GetString(bytes);
        }
        catch (DecoderFallbackException)
        {
            return Encoding.Latin1.GetString(bytes);
        }
    }

    /// <summary>Reads a whole mapping file; null when it is larger than <see cref="MaxBytes"/>.</summary>
    public static string? Read(Stream stream)
    {
        ArgumentNullException.ThrowIfNull(stream);
        using var bytes = new MemoryStream();
        var buffer = new byte[81920];
        while (stream.Read(buffer) is > 0 and var got)
        {
            if (bytes.Length + got > MaxBytes)
                return null;
            bytes.Write(buffer, 0, got);
        }
        return Decode(bytes.GetBuffer().AsSpan(0, (int)bytes.Length));
    }
}
