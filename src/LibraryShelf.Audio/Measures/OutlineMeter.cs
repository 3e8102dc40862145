namespace LibraryShelf.Audio.Measures;

/// <summary>
/// The wave's outline for a picture, in fixed memory: least and greatest of each millisecond, then of each two, four … as the recording grows.
/// </summary>
internal sealed class OutlineMeter
{
    private const int Most = 4096;
    private const int FullScale = 127;

    private readonly List<(float Least, float Greatest)> columns = new(256);
    private (float Least, float Greatest) column = Nothing;
    private int parts, partsPerColumn = 1;

    private static (float Least, float Greatest) Nothing => (float.MaxValue, float.MinValue);

    public void Take(in Stretch stretch) =>
        column = (Math.Min(column.Least, (float)stretch.Least), Math.Max(column.Greatest, (float)stretch.Greatest));

    /// <summary>After each millisecond.</summary>
    public void EndPart()
    {
        if (++parts < partsPerColumn)
            return;
        columns.Add(column);
        (column, parts) = (Nothing, 0);
        if (columns.Count == Most)
            Halve();
    }

    /// <summary>As <see cref="RecordingFacts.Outline"/> is kept.</summary>
    public string Finish()
    {
        if (column.Least <= column.Greatest)
            columns.Add(column);
        column = Nothing;
        var count = Math.Min(columns.Count, RecordingFacts.OutlineColumns);
        var bytes = new byte[2 * count];
        for (var i = 0; i < count; i++)
        {
            var (from, to) = (i * columns.Count / count, (i + 1) * columns.Count / count);
            var (least, greatest) = Nothing;
            for (var at = from; at < to; at++)
                (least, greatest) = (Math.Min(least, columns[at].Least), Math.Max(greatest, columns[at].Greatest));
            (bytes[2 * i], bytes[2 * i + 1]) = ((byte)Scaled(least), (byte)Scaled(greatest));
        }
        return Convert.ToBase64String(bytes);
    }

    private void Halve()
    {
        for (var i = 0; i < Most / 2; i++)
            columns[i] = (Math.Min(columns[2 * i].Least, columns[2 * i + 1].Least), Math.Max(columns[2 * i].Greatest, columns[2 * i + 1].Greatest));
        columns.RemoveRange(Most / 2, Most / 2);
        partsPerColumn *= 2;
    }

    private static sbyte Scaled(float value) => (sbyte)Math.Clamp(MathF.Round(value * FullScale), -FullScale, FullScale);
}
