using LibraryShelf.Audio.Files;

namespace LibraryShelf.Audio.Comparing;

/// <summary>A recording that is opened anew for each reading.</summary>
internal sealed class Source(Func<Stream> open) : IDisposable
{
    private Stream? stream;

    public SampleFormat Format { get; private set; } = null!;

    public FrameReading? Open()
    {
        stream?.Dispose();
        stream = open();
        if (SoundFiles.Open(stream) is not { } file)
            return null;
        Format = file.Format!;
        return new FrameReading(file);
    }

    public void Dispose() => stream?.Dispose();
}
