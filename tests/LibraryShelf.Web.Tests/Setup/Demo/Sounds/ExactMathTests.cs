using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Tests.Setup.Demo.Sounds;

public sealed class ExactMathTests
{
    // The platform's own functions are the reference; 1e-12 is what ExactMath promises.
    [Theory]
    [InlineData(0)]
    [InlineData(0.5)]
    [InlineData(-1.57079)]
    [InlineData(3.14159)]
    [InlineData(-4.0)]
    [InlineData(100.25)]
    public void Sine_and_cosine_agree_with_the_platform(double x)
    {
        Assert.Equal(Math.Sin(x), ExactMath.Sin(x), 1e-12);
        Assert.Equal(Math.Cos(x), ExactMath.Cos(x), 1e-12);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    [InlineData(-0.3)]
    [InlineData(-20)]
    [InlineData(9.75)]
    public void Exponential_agrees_with_the_platform(double x) =>
        Assert.Equal(1, ExactMath.Exp(x) / Math.Exp(x), 1e-12);

    // Middle C in equal temperament at A4 = 440 Hz: 261.6256 Hz (MIDI Tuning Standard's table).
    [Fact]
    public void Keys_have_their_frequency() => Assert.Equal(261.6256, ExactMath.Hertz(60, 0), 1e-4);
}
