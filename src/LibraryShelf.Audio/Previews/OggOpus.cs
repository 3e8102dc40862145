using System.Buffers.Binary;
using Concentus;
using Concentus.Enums;

namespace LibraryShelf.Audio.Previews;

/// <summary>An Ogg Opus file, and the sound that comes out of it: as long as what went in.</summary>
public sealed record OpusFile(ReadOnlyMemory<byte> Bytes, Sound Heard);

/// <summary>
/// Encodes a short sound as an Ogg Opus file (RFC 6716 in RFC 7845). The same sound gives the same bytes: the managed codec alone is used, whatever the machine
/// has installed, and nothing of the time or of chance is written.
/// </summary>
public static class OggOpus
{
    public const int SampleRate = 48000;

    /// <summary>20 ms, what RFC 7845 §6 asks readers to be best at.</summary>
    public const int FrameSamples = 960;

    private const uint Serial = 0x4c534c46;
    private const int MostPacketBytes = 1275, PacketsInSecond = SampleRate / FrameSamples;

    static OggOpus() => OpusCodecFactory.AttemptToUseNativeLibrary = false;

    /// <param name="sound">At 48 kHz, one or two channels.</param>
    /// <param name="bitrate">Bits per second, 6,000 to 510,000.</param>
    /// <param name="isConstant">Each packet is as long as the next, so that the file's size is known beforehand; else only about, and it sounds better for it.</param>
    /// <exception cref="ArgumentException">Another rate.</exception>
    public static OpusFile Encode(Sound sound, int bitrate, bool isConstant)
    {
        ArgumentNullException.ThrowIfNull(sound);
        if (sound.SampleRate != SampleRate)
            throw new ArgumentException("Opus is written at 48 kHz.", nameof(sound));
        using var encoder = OpusCodecFactory.CreateEncoder(SampleRate, sound.Channels, OpusApplication.OPUS_APPLICATION_AUDIO);
        (encoder.Bitrate, encoder.UseVBR, encoder.Complexity) = (bitrate, !isConstant, 9);
        encoder.SignalType = OpusSignal.OPUS_SIGNAL_MUSIC;
        var preSkip = encoder.Lookahead;
        var pages = new OggPages(Serial);
        WriteHeaders(pages, sound.Channels, preSkip);
        var heard = WritePackets(pages, sound, encoder, preSkip);
        return new OpusFile(pages.ToArray(), new Sound(heard.AsMemory(preSkip * sound.Channels, sound.Samples.Length), sound.Channels, SampleRate));
    }

    /// <summary>What <see cref="Encode"/> at a constant rate comes to, bytes; never less.</summary>
    public static int BytesOf(double seconds, int bitrate)
    {
        var packets = (int)Math.Ceiling(seconds * PacketsInSecond) + 1;
        var bytes = bitrate / 8 / PacketsInSecond;
        return packets * (bytes + bytes / 255 + 1) + (packets / PacketsInSecond + 3) * 28 + 64;
    }

    /// <summary>RFC 7845 §5: identification and comment header, each on a page of its own.</summary>
    private static void WriteHeaders(OggPages pages, int channels, int preSkip)
    {
        Span<byte> head = stackalloc byte[19];
        "OpusHead"u8.CopyTo(head);
        (head[8], head[9]) = (1, (byte)channels);
        BinaryPrimitives.WriteUInt16LittleEndian(head[10..], (ushort)preSkip);
        BinaryPrimitives.WriteUInt32LittleEndian(head[12..], SampleRate);
        pages.Add(head);
        pages.EndPage(0, isLast: false);
        Span<byte> tags = stackalloc byte[28];
        tags.Clear();
        "OpusTags"u8.CopyTo(tags);
        BinaryPrimitives.WriteUInt32LittleEndian(tags[8..], 12);
        "LibraryShelf"u8.CopyTo(tags[12..]);
        pages.Add(tags);
        pages.EndPage(0, isLast: false);
    }

    /// <summary>The last page's position is where the sound ends, so that what fills its last packet is cut off again (RFC 7845 §4.4).</summary>
    private static float[] WritePackets(OggPages pages, Sound sound, IOpusEncoder encoder, int preSkip)
    {
        using var decoder = OpusCodecFactory.CreateDecoder(SampleRate, sound.Channels);
        var count = Math.Max(1, (sound.Frames + preSkip + FrameSamples - 1) / FrameSamples);
        var block = FrameSamples * sound.Channels;
        var padded = new float[count * block];
        sound.Samples.Span.CopyTo(padded);
        var heard = new float[padded.Length];
        var packet = new byte[MostPacketBytes];
        var onPage = 0;
        for (var i = 0; i < count; i++)
        {
            var bytes = encoder.Encode(padded.AsSpan(i * block, block), FrameSamples, packet, packet.Length);
            decoder.Decode(packet.AsSpan(0, bytes), heard.AsSpan(i * block, block), FrameSamples, decode_fec: false);
            if (onPage == PacketsInSecond || !pages.HasRoomFor(bytes))
            {
                pages.EndPage((long)i * FrameSamples, isLast: false);
                onPage = 0;
            }
            pages.Add(packet.AsSpan(0, bytes));
            onPage++;
        }
        pages.EndPage(preSkip + sound.Frames, isLast: true);
        return heard;
    }
}
