namespace LibraryShelf.Audio.Files;

internal enum SampleCoding { Unsigned8, Signed8, Integer16, Integer24, Integer32, Float32, Float64 }

/// <summary>
/// How a recording's samples are laid out, whatever its container. <see cref="ValidBits"/> may be fewer than the sample's bytes hold
/// (left-justified). <see cref="Speakers"/> is the channel mask of WAVE_FORMAT_EXTENSIBLE, bit by bit as in mmreg.h; null when the file
/// says nothing of speakers.
/// </summary>
internal sealed record SampleFormat(SampleCoding Coding, int Channels, int SampleRate, int ValidBits, uint? Speakers = null)
{
    /// <summary>More channels than this are refused, which bounds a block's memory.</summary>
    public const int MaxChannels = 64;

    public const int MaxSampleRate = 10_000_000;

    public bool IsFloat => Coding is SampleCoding.Float32 or SampleCoding.Float64;

    public int BytesPerSample => Coding switch
    {
        SampleCoding.Unsigned8 or SampleCoding.Signed8 => 1,
        SampleCoding.Integer16 => 2,
        SampleCoding.Integer24 => 3,
        SampleCoding.Integer32 or SampleCoding.Float32 => 4,
        _ => 8,
    };

    public int BytesPerFrame => BytesPerSample * Channels;

    /// <summary>The least difference between two samples, as a share of full scale; for float that of 24 bits.</summary>
    public double Step => Math.Pow(2, 1 - (IsFloat ? 24 : ValidBits));

    /// <summary>The largest positive sample, as a share of full scale: 1 − 2^(1−bits) for whole numbers, 1 for float.</summary>
    public double FullScale => IsFloat ? 1 : 1 - Math.Pow(2, 1 - ValidBits);
}
