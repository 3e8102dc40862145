using System.Globalization;
using System.Xml.Linq;
using LibraryShelf.Packaging.Keyprints;

namespace LibraryShelf.Packaging.Tests.Keyprints;

public sealed class KeyprintDrawingTests
{
    private static readonly PrintPaint Paint = new("#a9bf4b", "#10242b", "#4f6235");
    private static readonly Keyprint Print = new(
        [ReedAt(60, 1, 2, 1.2), ReedAt(60, 2, 2, 1.5) with { LoudnessDb = -6 }, ReedAt(61, 1, 1, 0.4) with { AttackMs = 400 }, ReedAt(64, 1, 1, 0) with { IsLooped = true }],
        60, 64, "", "", 0, 0, 0);

    private static Reed ReedAt(int key, int layer, int layers, double seconds) =>
        new() { Key = key, Layer = layer, Layers = layers, Takes = 2, RingSeconds = seconds, BrightnessHz = 1_000, LoudnessDb = -18, AttackMs = 5 };

    /// <summary>The bytes that caches keep for good: another drawing raises <see cref="Keyprint.Generation"/>.</summary>
    [Theory]
    [InlineData("large")]
    [InlineData("small")]
    [InlineData("tied")]
    [InlineData("free")]
    [InlineData("pile-tied")]
    [InlineData("pile-free")]
    [InlineData("share")]
    public void A_picture_comes_out_as_it_is_kept(string which)
    {
        var culture = CultureInfo.CurrentCulture;
        var other = (CultureInfo)CultureInfo.InvariantCulture.Clone();
        other.NumberFormat.NumberDecimalSeparator = ",";
        CultureInfo.CurrentCulture = other;
        try
        {
            var svg = Drawn(which);
            Assert.Equal(File.ReadAllText(Path.Combine(AppContext.BaseDirectory, "Keyprints", $"{which}.{Keyprint.Generation}.svg")), svg);
            Assert.Equal(svg, Drawn(which));
        }
        finally { CultureInfo.CurrentCulture = culture; }
    }

    [Theory]
    [InlineData("large")]
    [InlineData("small")]
    [InlineData("tied")]
    [InlineData("free")]
    [InlineData("pile-tied")]
    [InlineData("pile-free")]
    [InlineData("share")]
    public void A_picture_is_well_formed_and_stands_under_a_strict_policy(string which)
    {
        var root = XDocument.Parse(Drawn(which)).Root!;
        Assert.Equal("http://www.w3.org/2000/svg", root.Name.NamespaceName);
        Assert.All(root.DescendantsAndSelf(), e => Assert.Contains(e.Name.LocalName, new[] { "svg", "g", "rect", "path", "circle" }));
        Assert.DoesNotContain(root.DescendantsAndSelf().Attributes(), a => a.Name.LocalName is "style" or "class" || a.Name.LocalName.StartsWith("on", StringComparison.Ordinal));
    }

    /// <summary>ln(1 + T/0.06) / ln(1 + 12/0.06): worked out by hand for 0.1 s (0.18495) and 10 s (0.96581); the room is 405 above a line at 441.</summary>
    [Theory]
    [InlineData(0.1, 366.1)]
    [InlineData(10, 49.8)]
    [InlineData(12, 36)]
    [InlineData(60, 36)]
    public void Height_is_told_on_a_log_ruler(double seconds, double top) => Assert.Equal(top, KeyprintDrawing.TopOf(seconds), 0.06);

    [Fact]
    public void A_louder_reed_is_thicker_a_brighter_one_leans_more_and_a_longer_one_is_taller()
    {
        static (double Width, double Lean, double Height) Measured(Reed reed)
        {
            var svg = KeyprintDrawing.Large(new Keyprint([ReedAt(60, 1, 1, 1) with { LoudnessDb = 0 }, reed], 36, 84, "", "", 0, 0, 0), Paint);
            var path = XDocument.Parse(svg).Root!.Elements().First(e => e.Name.LocalName == "path").Attribute("d")!.Value.Split('z')[1];
            var numbers = path.Split(['M', 'C', 'L', ' '], StringSplitOptions.RemoveEmptyEntries).Select(n => double.Parse(n, CultureInfo.InvariantCulture)).ToArray();
            return (numbers[^2] - numbers[0], numbers[6] - (numbers[^2] + numbers[0]) / 2, numbers[1] - numbers[7]);
        }
        var plain = Measured(ReedAt(62, 1, 1, 1));
        Assert.True(Measured(ReedAt(62, 1, 1, 1) with { LoudnessDb = -6 }).Width > plain.Width);
        Assert.True(Measured(ReedAt(62, 1, 1, 1) with { AttackMs = 400 }).Width < plain.Width);
        Assert.True(Measured(ReedAt(62, 1, 1, 1) with { BrightnessHz = 4_000 }).Lean > plain.Lean);
        Assert.Equal(0.62 * 0.5 * plain.Height, plain.Lean, 0.2); // 1 kHz is half way from 100 Hz to 10 kHz
        Assert.True(Measured(ReedAt(62, 1, 1, 3)).Height > plain.Height);
    }

    [Fact]
    public void Any_keyboard_fits_and_a_spine_that_is_too_wide_is_refused()
    {
        var all = new Keyprint([.. Enumerable.Range(0, 128).Select(k => ReedAt(k, 1, 1, 20) with { Takes = 40, BrightnessHz = 20_000 })], 0, 127, "", "", 0, 0, 0);
        Assert.NotEmpty(XDocument.Parse(KeyprintDrawing.Large(all, Paint)).Root!.Elements());
        Assert.NotEmpty(XDocument.Parse(SpineDrawing.Of(all, Paint, SpineDrawing.Narrowest, 128, isTied: true)).Root!.Elements());
        Assert.Throws<ArgumentOutOfRangeException>(() => SpineDrawing.Of(all, Paint, SpineDrawing.Widest + 1, 128, isTied: true));
    }

    private static string Drawn(string which) => which switch
    {
        "large" => KeyprintDrawing.Large(Print, Paint),
        "small" => KeyprintDrawing.Small(Print, Paint),
        "share" => KeyprintDrawing.Share(Print, Paint),
        "pile-tied" or "pile-free" => PileDrawing.Of(Print, Paint, 4, 300, which == "pile-tied"),
        _ => SpineDrawing.Of(Print, Paint, 64, 4, which == "tied"),
    };
}
