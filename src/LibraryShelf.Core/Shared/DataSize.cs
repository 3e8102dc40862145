namespace LibraryShelf.Core.Shared;

/// <summary>Sizes as people read them: decimal units (1 kB = 1,000 bytes, as disks and browsers count), two figures where they matter.</summary>
public static class DataSize
{
    private const int Terabytes = 4;

    /// <summary>"812 bytes", "38 MB", "1.9 GB". <paramref name="bytes"/> is 0 or more.</summary>
    public static string Of(long bytes)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(bytes);
        decimal amount = bytes;
        var unit = 0;
        while (unit < Terabytes && Rounded(amount, unit) >= 1000)
        {
            amount /= 1000;
            unit++;
        }
        if (unit == 0)
            return $"{bytes} {Noun(bytes, "byte", "bytes")}";
        var number = Rounded(amount, unit).ToString(Decimals(amount, unit) == 1 ? "0.0" : "0", Say.Culture);
        return unit switch
        {
            1 => T($"{number} kB"),
            2 => T($"{number} MB"),
            3 => T($"{number} GB"),
            _ => T($"{number} TB"),
        };
    }

    /// <summary>One decimal below 10, and for gigabytes below 100, where a tenth is still a coffee's wait.</summary>
    private static int Decimals(decimal amount, int unit) => unit switch
    {
        0 => 0,
        1 => 0,
        2 => amount < 9.95m ? 1 : 0,
        _ => amount < 99.95m ? 1 : 0,
    };

    private static decimal Rounded(decimal amount, int unit) =>
        Math.Round(amount, Decimals(amount, unit), MidpointRounding.AwayFromZero);
}
