namespace LibraryShelf.Web.Setup.Demo.Sounds;

/// <summary>Two one-pole low-passes in a row (12 dB an octave above <paramref name="cutoffHertz"/>), made up for the loudness they take.</summary>
internal sealed class TwoPole(double cutoffHertz, int sampleRate)
{
    private readonly double _share = 1 - ExactMath.Exp(-2 * Math.PI * cutoffHertz / sampleRate);
    private double _first;
    private double _second;

    public double Next(double input)
    {
        _first += _share * (input - _first);
        _second += _share * (_first - _second);
        return _second / Math.Sqrt(_share);
    }
}
