using System.Globalization;

namespace LibraryShelf.Cli.Output;

/// <summary>One line, redrawn in place at most ten times a second and wiped at the end. Safe to feed from several threads.</summary>
internal sealed class Progress(TextWriter? terminal, string what, long total, TimeProvider clock) : IDisposable
{
    private static readonly TimeSpan Pause = TimeSpan.FromMilliseconds(100);

    private readonly Lock gate = new();
    private long done;
    private long drawnAt;
    private int drawnWidth;

    public void Add(long units)
    {
        if (terminal is null)
            return;
        lock (gate)
        {
            done += units;
            if (drawnAt != 0 && clock.GetElapsedTime(drawnAt) < Pause)
                return;
            drawnAt = clock.GetTimestamp();
            Draw(terminal);
        }
    }

    public void Dispose()
    {
        if (terminal is null || drawnWidth == 0)
            return;
        terminal.Write("\r" + new string(' ', drawnWidth) + "\r");
        terminal.Flush();
    }

    private void Draw(TextWriter writer)
    {
        // Whole percents, rounded down: 100 % is shown only when all is done.
        var percent = total <= 0 ? 100 : (long)(100m * Math.Min(done, total) / total);
        var line = string.Create(CultureInfo.InvariantCulture, $"{what} {percent} %");
        writer.Write("\r" + line.PadRight(drawnWidth));
        writer.Flush();
        drawnWidth = Math.Max(drawnWidth, line.Length);
    }
}
