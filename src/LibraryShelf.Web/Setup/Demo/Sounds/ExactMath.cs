namespace LibraryShelf.Web.Setup.Demo.Sounds;

/// <summary>
/// Sine and exponential from additions and multiplications only. The platform's own may differ in the last bit from machine to
/// machine, and a recording's bytes are its address. Good to 1e-12, far below the 6e-8 of a 24-bit step.
/// </summary>
internal static class ExactMath
{
    private const double Ln2 = 0.69314718055994530942;

    public static double Cos(double radians) => Sin(radians + (Math.PI / 2));

    public static double Sin(double radians)
    {
        var turns = radians / (2 * Math.PI);
        var x = (turns - Math.Floor(turns + 0.5)) * 2 * Math.PI;
        if (x > Math.PI / 2)
            x = Math.PI - x;
        else if (x < -Math.PI / 2)
            x = -Math.PI - x;
        var square = x * x;
        double term = x, sum = x;
        for (var n = 2; n <= 20; n += 2)
        {
            term = -term * square / (n * (n + 1));
            sum += term;
        }
        return sum;
    }

    public static double Exp(double x)
    {
        var halvings = Math.Floor((x / Ln2) + 0.5);
        var rest = x - (halvings * Ln2);
        double term = 1, sum = 1;
        for (var n = 1; n <= 16; n++)
        {
            term = term * rest / n;
            sum += term;
        }
        return Math.ScaleB(sum, (int)halvings);
    }

    /// <summary>Amplitude of a level in decibels.</summary>
    public static double Amplitude(double decibels) => Exp(decibels * (2.30258509299404568402 / 20));

    /// <summary>Frequency in hertz of a MIDI key, A4 = 69 = 440 Hz in equal temperament, shifted by <paramref name="cents"/>.</summary>
    public static double Hertz(int key, double cents) => 440 * Exp(Ln2 * ((key - 69 + (cents / 100)) / 12));
}
