using LibraryShelf.Web.Setup.Demo.Recipes;
using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Tests.Setup.Demo.Sounds;

public sealed class SynthesiserTests
{
    private static readonly ShopRecipe Shop = SeedReader.Read(SeedReader.DefaultFolder);

    [Fact]
    public void The_same_recording_is_the_same_numbers_and_another_take_is_not()
    {
        var jar = Voice("jam-jar-marimba");
        var first = Render(jar, new Sound("jar", "struck", 72, "hard", 1, 1));
        Assert.Equal(first, Render(jar, new Sound("jar", "struck", 72, "hard", 1, 1)));
        Assert.NotEqual(first, Render(jar, new Sound("jar", "struck", 72, "hard", 2, 1)));
        Assert.NotEqual(first, Render(jar, new Sound("jar", "struck", 72, "hard", 1, 2)));
    }

    // Printed once by this synthesiser and found equal in debug and release builds, with and without AVX and FMA: they hold the
    // bytes fast, because a changed bit would make every recording of a reused version a new one.
    [Theory]
    [InlineData("jam-jar-marimba", "struck", 72, "hard", "273655c60a62c56843d1223270129e5b6553b13e6ae4d8ae23be6baacb2ae072")]
    [InlineData("boathouse-harmonium", "blown", 60, "full", "608d92d02b76775125499726e93f2c66137490433a4d3050064d46b60da5f4f7")]
    [InlineData("kettle-choir", "blown", 84, "soft", "4dac696d1cb5ca664252f11e5ce52a1859636ce009d33d4a395e0732b2049999")]
    public void Bytes_stay_as_they_were(string slug, string way, int key, string layer, string sha256)
    {
        var rendering = Synthesiser.Render(Voice(slug), new Sound(slug, way, key, layer, 1, 1), 48_000);
        var file = WavFile.Write(rendering.Frames, rendering.Channels, 48_000, key, rendering.Loop);
        Assert.Equal(sha256, Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(file)));
    }

    [Theory]
    [InlineData("jam-jar-marimba", 72)]
    [InlineData("ironing-board-dulcimer", 67)]
    [InlineData("sluice-gate-bass", 40)]
    [InlineData("pantry-glasses", 76)]
    [InlineData("boathouse-harmonium", 60)]
    [InlineData("kettle-choir", 84)]
    public void Sounds_the_key_it_is_named_after(string slug, int key)
    {
        var voice = Voice(slug) with { Channels = 1 };
        var frames = Render(voice, new Sound(slug, "struck", key, "hard", 1, 1));
        // Goertzel at the key against its neighbours a semitone off, over the middle of the recording.
        var middle = frames.AsSpan(frames.Length / 4, frames.Length / 4);
        var here = Power(middle, 440 * Math.Pow(2, (key - 69) / 12.0));
        Assert.True(here > 8 * Power(middle, 440 * Math.Pow(2, (key - 68) / 12.0)));
        Assert.True(here > 8 * Power(middle, 440 * Math.Pow(2, (key - 70) / 12.0)));
    }

    [Fact]
    public void A_harder_stroke_is_louder_and_brighter()
    {
        var wire = Voice("ironing-board-dulcimer");
        var soft = Render(wire, new Sound("wire", "plucked", 60, "soft", 1, 1));
        var hard = Render(wire, new Sound("wire", "plucked", 60, "hard", 1, 1));
        Assert.True(hard.Max() > 3 * soft.Max());
        Assert.True(Brightness(hard) > 1.2 * Brightness(soft));
    }

    [Fact]
    public void A_struck_sound_dies_away()
    {
        var frames = Render(Voice("jam-jar-marimba"), new Sound("jar", "struck", 72, "hard", 1, 1));
        Assert.True(frames[^2000..].Max(Math.Abs) < 0.001);
        Assert.True(frames.Max(Math.Abs) > 0.5);
    }

    [Fact]
    public void A_loop_meets_itself()
    {
        var rendering = Synthesiser.Render(
            Voice("boathouse-harmonium"), new Sound("reed", "blown", 48, "full", 1, 1), 48_000);
        var (first, last) = Assert.NotNull(rendering.Loop);
        var seam = Math.Abs(rendering.Frames[last] - rendering.Frames[first - 1]);
        Assert.True(seam < 1e-9, $"The step at the seam is {seam}.");
    }

    private static Voice Voice(string slug) => Shop.Libraries.Single(l => l.Slug == slug).Voice;

    private static double[] Render(Voice voice, Sound sound) => Synthesiser.Render(voice, sound, 48_000).Frames;

    // Mean step between samples against the mean level: rises with the weight of high partials.
    private static double Brightness(double[] frames) =>
        frames.Zip(frames.Skip(1), (a, b) => Math.Abs(b - a)).Sum() / frames.Sum(Math.Abs);

    private static double Power(ReadOnlySpan<double> frames, double hertz)
    {
        double real = 0, imaginary = 0;
        for (var i = 0; i < frames.Length; i++)
        {
            var window = 0.5 - (0.5 * Math.Cos(2 * Math.PI * i / frames.Length));
            real += window * frames[i] * Math.Cos(2 * Math.PI * hertz * i / 48_000);
            imaginary += window * frames[i] * Math.Sin(2 * Math.PI * hertz * i / 48_000);
        }
        return (real * real) + (imaginary * imaginary);
    }
}
