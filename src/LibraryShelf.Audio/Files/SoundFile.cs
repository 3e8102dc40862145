using System.Globalization;
using System.IO.Hashing;
using System.Text;

namespace LibraryShelf.Audio.Files;

/// <summary>
/// A recording whose samples are read forwards, in blocks of whole frames. Size fields are only compared with what came: a file that
/// ends early is told by <see cref="Trouble"/>, not by an exception.
/// </summary>
internal abstract class SoundFile
{
    /// <summary>Frames per block: 4,096 keeps a stereo block out of the large-object heap.</summary>
    public const int BlockFrames = 4096;

    private readonly XxHash128 sound = new();

    /// <summary>False: it is read for its samples alone, and <see cref="Describe"/> knows no hash of them.</summary>
    public bool IsHashed { get; set; } = true;

    public SampleFormat? Format { get; protected set; }
    public RecordingTrouble Trouble { get; private set; }
    public string TroubleWords { get; private set; } = "";

    /// <summary>Walks to the samples; false when there are none that can be read, with the reason in <see cref="Trouble"/>.</summary>
    public abstract bool GoToSamples();

    /// <summary>Decodes the next whole frames, interleaved, at most <see cref="BlockFrames"/>; returns the number of samples, 0 at the end.</summary>
    public abstract int ReadBlock(Span<double> samples);

    /// <summary>After the last block: says whether samples are missing, and reads the chunks behind them.</summary>
    public abstract void Finish(long frames);

    /// <summary>Every reader gives here the bytes of each whole frame, least significant byte first.</summary>
    protected void Hear(ReadOnlySpan<byte> frames)
    {
        if (IsHashed)
            sound.Append(frames);
    }

    /// <summary>As <see cref="RecordingFacts.SoundHash"/>, of what was read so far; "" without a format, or when it is not hashed.</summary>
    private string SoundHash()
    {
        if (Format is null || !IsHashed)
            return "";
        sound.Append(Encoding.ASCII.GetBytes(string.Create(
            CultureInfo.InvariantCulture, $"{Format.Coding} {Format.Channels} {Format.SampleRate} {Format.ValidBits}")));
        return Convert.ToHexStringLower(sound.GetHashAndReset());
    }

    /// <summary>What the file says of itself.</summary>
    public virtual RecordingFacts Describe(string container) => new()
    {
        Container = container,
        Coding = Format is null ? "" : Format.IsFloat ? "float" : "pcm",
        SampleRate = Format?.SampleRate ?? 0,
        Bits = Format?.ValidBits ?? 0,
        Channels = Format?.Channels ?? 0,
        SoundHash = SoundHash(),
        Trouble = Trouble,
        TroubleWords = TroubleWords,
    };

    protected bool Fail(RecordingTrouble trouble, string words)
    {
        Trouble = trouble;
        TroubleWords = words;
        return false;
    }
}
