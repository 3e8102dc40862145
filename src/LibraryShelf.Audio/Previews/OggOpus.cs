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
        var heard = new float[sound.Samples.Length];
        var at = 0;
        var bytes = Encode(sound, 1, bitrate, isConstant, block =>
        {
            block.CopyTo(heard.AsSpan(at));
            at += block.Length;
        });
        return new OpusFile(bytes, new Sound(heard, sound.Channels, SampleRate));
    }

    /// <summary>The same of a long sound, without a second one of its length in memory.</summary>
    /// <param name="sound">At 48 kHz, one or two channels.</param>
    /// <param name="gain">Each sample is taken so many times.</param>
    /// <param name="bitrate">Bits per second, 6,000 to 510,000.</param>
    /// <param name="isConstant">As above.</param>
    /// <param name="heard">Gets what comes out, piece by piece, interleaved: as many frames as went in.</param>
    /// <exception cref="ArgumentException">Another rate.</exception>
    public static byte[] Encode(Sound sound, float gain, int bitrate, bool isConstant, Action<ReadOnlySpan<float>> heard)
    {
        ArgumentNullException.ThrowIfNull(sound);
        ArgumentNullException.ThrowIfNull(heard);
        if (sound.SampleRate != SampleRate)
            throw new ArgumentException("Opus is written at 48 kHz.", nameof(sound));
        using var encoder = OpusCodecFactory.CreateEncoder(SampleRate, sound.Channels, OpusApplication.OPUS_APPLICATION_AUDIO);
        (encoder.Bitrate, encoder.UseVBR, encoder.Complexity) = (bitrate, !isConstant, 9);
        encoder.SignalType = OpusSignal.OPUS_SIGNAL_MUSIC;
        var preSkip = encoder.Lookahead;
        var pages = new OggPages(Serial);
        WriteHeaders(pages, sound.Channels, preSkip);
        WritePackets(pages, sound, gain, encoder, preSkip, heard);
        return pages.ToArray();
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
    private static void WritePackets(OggPages pages, Sound sound, float gain, IOpusEncoder encoder, int preSkip, Action<ReadOnlySpan<float>> heard)
    {
        using var decoder = OpusCodecFactory.CreateDecoder(SampleRate, sound.Channels);
        var count = Math.Max(1, (sound.Frames + preSkip + FrameSamples - 1) / FrameSamples);
        var (frame, decoded) = (new float[FrameSamples * sound.Channels], new float[FrameSamples * sound.Channels]);
        var packet = new byte[MostPacketBytes];
        var (onPage, early, left) = (0, preSkip * sound.Channels, sound.Samples.Length);
        for (var i = 0; i < count; i++)
        {
            Fill(frame, sound.Samples.Span[Math.Min(sound.Samples.Length, i * frame.Length)..], gain);
            var bytes = encoder.Encode(frame, FrameSamples, packet, packet.Length);
            decoder.Decode(packet.AsSpan(0, bytes), decoded, FrameSamples, decode_fec: false);
            var skipped = Math.Min(early, decoded.Length);
            early -= skipped;
            var came = decoded.AsSpan(skipped, Math.Min(left, decoded.Length - skipped));
            heard(came);
            left -= came.Length;
            if (onPage == PacketsInSecond || !pages.HasRoomFor(bytes))
            {
                pages.EndPage((long)i * FrameSamples, isLast: false);
                onPage = 0;
            }
            pages.Add(packet.AsSpan(0, bytes));
            onPage++;
        }
        pages.EndPage(preSkip + sound.Frames, isLast: true);
    }

    /// <summary>The next samples, louder, and zeros behind the last.</summary>
    private static void Fill(Span<float> frame, ReadOnlySpan<float> samples, float gain)
    {
        var given = Math.Min(frame.Length, samples.Length);
        for (var i = 0; i < given; i++)
            frame[i] = samples[i] * gain;
        frame[given..].Clear();
    }
}
