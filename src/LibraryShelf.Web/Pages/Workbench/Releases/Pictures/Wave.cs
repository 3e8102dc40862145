using System.Globalization;
using System.Text;
using LibraryShelf.Audio;

namespace LibraryShelf.Web.Pages.Workbench.Releases.Pictures;

/// <summary>A recording's wave from its kept outline, and where its trouble is.</summary>
internal sealed class Wave
{
    public const int Width = 128, Height = 48;

    public Wave(RecordingFacts facts)
    {
        byte[] outline;
        try
        {
            outline = Convert.FromBase64String(facts.Outline);
        }
        catch (FormatException)
        {
            outline = [];
        }
        Path = PathOf(outline);
        Seconds = facts.SampleRate > 0 ? (double)facts.Frames / facts.SampleRate : 0;
        if (Seconds <= 0)
            return;
        ClippedAt = [.. facts.ClippedAt.Select(PlaceOf).Distinct(StringComparer.Ordinal)];
        LeadIn = facts.LeadInMs is { } ms && ms / 1000 / Seconds > 0.004 ? PlaceOf(ms / 1000) : null;
        Loops = [.. facts.Loops.Take(4).SelectMany(l => new[] { l.Start, l.End }).Where(f => f <= facts.Frames).Select(f => PlaceOf((double)f / facts.SampleRate))];
    }

    /// <summary>Empty when there is no outline.</summary>
    public string Path { get; }

    public double Seconds { get; }

    /// <summary>Where clipped places begin, the sound starts, loops start and end: across the picture.</summary>
    public IReadOnlyList<string> ClippedAt { get; } = [];

    public string? LeadIn { get; }

    public IReadOnlyList<string> Loops { get; } = [];

    private string PlaceOf(double seconds) =>
        Math.Clamp(seconds / Seconds * Width, 0, Width).ToString("0.#", CultureInfo.InvariantCulture);

    /// <summary>A stroke a column, from the least to the greatest sample; neighbours of a long outline are joined.</summary>
    private static string PathOf(byte[] outline)
    {
        var pairs = outline.Length / 2;
        var path = new StringBuilder();
        var columns = Math.Min(Width, pairs);
        for (var x = 0; x < columns; x++)
        {
            var (low, high) = (127, -127);
            for (var i = x * pairs / columns; i < Math.Max((x + 1) * pairs / columns, x * pairs / columns + 1); i++)
            {
                low = Math.Min(low, (sbyte)outline[2 * i]);
                high = Math.Max(high, (sbyte)outline[2 * i + 1]);
            }
            var (top, bottom) = (Y(high), Math.Max(Y(low), Y(high) + 1));
            path.Append(CultureInfo.InvariantCulture, $"M{(x + 0.5) * Width / columns:0.#} {top}V{bottom}");
        }
        return path.ToString();
    }

    private static int Y(int value) => (int)Math.Round(Height / 2.0 * (1 - value / 127.0));
}
