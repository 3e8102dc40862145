using LibraryShelf.Audio.Previews;
using static LibraryShelf.Audio.Tests.Signals;

namespace LibraryShelf.Audio.Tests.Previews;

/// <summary>Held against the sine that should come out, worked out anew at the other rate.</summary>
public sealed class ResamplerTests
{
    [Theory]
    [InlineData(44100, 48000, 1000)]
    [InlineData(44100, 48000, 15000)]
    [InlineData(96000, 48000, 1000)]
    [InlineData(48000, 22050, 5000)]
    [InlineData(22050, 48000, 440)]
    [InlineData(11025, 48000, 3000)]
    [InlineData(88200, 48000, 19000)]
    public void A_sine_stays_the_same_sine(int from, int to, double hz)
    {
        var made = Resampler.Read(Sounds.Of(Sine(hz, -6, 1, from), rate: from), 1, to);
        Assert.Equal(to, made.SampleRate);
        Assert.Equal(to, made.Frames);
        var (sine, rest) = Sounds.Split(made, hz, to / 20);
        Assert.Equal(-6, sine, 0.05);
        Assert.InRange(rest, -400, -86);
    }

    [Theory]
    [InlineData(1.0594630943592953)]
    [InlineData(0.5)]
    [InlineData(2)]
    public void Another_speed_is_another_pitch(double speed)
    {
        var made = Resampler.Read(Sounds.Of(Sine(1000, -6, 1)), speed, Rate);
        Assert.Equal(Rate / speed, made.Frames, 1.0);
        var (sine, rest) = Sounds.Split(made, 1000 * speed, 2000);
        Assert.Equal(-6, sine, 0.05);
        Assert.InRange(rest, -400, -86);
    }

    [Fact]
    public void What_the_new_rate_cannot_hold_is_gone()
    {
        var made = Resampler.Read(Sounds.Of(Sine(15000, -6, 1)), 1, 22050);
        var (_, rest) = Sounds.Split(made, 1000, 2000);
        Assert.InRange(rest, -400, -80);
    }

    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    [InlineData(47)]
    public void The_shortest_sounds_pass(int frames)
    {
        var made = Resampler.Read(Sounds.Of(new double[2 * frames], 2, 44100), 1, 48000);
        Assert.Equal((int)Math.Ceiling(frames * 48000 / 44100.0), made.Frames);
        Assert.Equal(2, made.Channels);
    }
}
