using System.Diagnostics;
using System.Globalization;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Packaging.Keyprints;
using LibraryShelf.Web.Pages.Shelf;
using LibraryShelf.Web.Tests.Doors;
using LibraryShelf.Web.Tests.Endpoints;

namespace LibraryShelf.Web.Tests.Pages.Shelf;

/// <summary>Read by somebody else's decoder: Debian's ffmpeg.</summary>
public sealed class SharePictureTests
{
    private static readonly PrintPaint Paint = PaintColours.Of(Core.Catalog.Paint.Samphire);

    [Fact]
    public async Task It_is_a_png_of_the_size_that_is_asked_for_with_words_left_and_print_right()
    {
        var png = SharePicture.Of(Stand(), Paint, new("Jam-jar Marimba", "25 keys, 480 recordings", "Saltmarsh Sound Room"));
        var pixels = await DecodedAsync(png);
        Assert.Equal(1200 * 630 * 3, pixels.Length);
        Assert.Equal(Rgb(Paint.Ground), At(pixels, 4, 4));
        Assert.Equal(Rgb(Paint.Ground), At(pixels, 1195, 625));
        // The waterline, drawn with the ink from 496 to 1184.
        Assert.Equal(Rgb(Paint.Ink), At(pixels, 500, 491));
        Assert.Equal(Rgb(Paint.Ground), At(pixels, 490, 491));
        // The name stands left and reaches as far as it may; the shop's name below it; between the two is nothing.
        Assert.InRange(Inked(pixels, 0, 470, 60, 300), 4_000, 60_000);
        Assert.InRange(Inked(pixels, 0, 470, 540, 600), 500, 10_000);
        Assert.Equal(0, Inked(pixels, 0, 470, 400, 530));
        Assert.InRange(Inked(pixels, 496, 1184, 60, 480), 4_000, 200_000);
    }

    [Fact]
    public void The_same_print_and_words_are_the_same_bytes_and_others_are_others()
    {
        var words = new ShareWords("Kettle Choir", "25 keys", "Saltmarsh Sound Room");
        var one = SharePicture.Of(Stand(), Paint, words);
        Assert.Equal(one, SharePicture.Of(Stand(), Paint, words));
        Assert.NotEqual(one, SharePicture.Of(Stand(), Paint, words with { Title = "Kettle Chorus" }));
        Assert.NotEqual(one, SharePicture.Of(Stand(), PaintColours.Of(Core.Catalog.Paint.Oxide), words));
    }

    [Theory]
    [InlineData("Žluťoučký kůň of Łódź")]
    [InlineData("The Whole Brass Band of the Lower Saltmarsh, Recorded Twice in Three Winters")]
    [InlineData("Donaudampfschifffahrtskapitänsharmonium")]
    [InlineData("鐘")]
    public async Task Whatever_a_box_is_called_its_name_keeps_clear_of_the_print_and_the_edges(string title)
    {
        var pixels = await DecodedAsync(SharePicture.Of(Stand(), Paint, new(title, "25 keys, 480 recordings", "Saltmarsh Sound Room")));
        Assert.InRange(Inked(pixels, 56, 490, 56, 560), 500, 100_000);
        Assert.Equal(0, Inked(pixels, 0, 50, 0, 630));
        Assert.Equal(0, Inked(pixels, 488, 495, 0, 630));
    }

    [Fact]
    public async Task A_box_says_where_its_picture_is_and_there_it_is_kept_for_good()
    {
        await using var world = await DoorWorld.MakeAsync();
        await world.Host.MeasuredAsync(world.Free.ReleaseId);
        using var visitor = world.Host.Visitor();
        var page = await visitor.PageAsync($"/boxes/{world.Free.Slug}");
        var address = new Uri(page.QuerySelector("meta[property='og:image']")!.GetAttribute("content")!);
        Assert.Equal(("1200", "630"), (page.QuerySelector("meta[property='og:image:width']")!.GetAttribute("content"), page.QuerySelector("meta[property='og:image:height']")!.GetAttribute("content")));
        using var answer = await visitor.GetAsync(address.PathAndQuery);
        Assert.Equal(("image/png", "public, max-age=31536000, immutable"), (answer.Content.Headers.ContentType!.MediaType, string.Join(", ", answer.Headers.GetValues("Cache-Control"))));
        Assert.Equal(1200 * 630 * 3, (await DecodedAsync(await answer.Content.ReadAsByteArrayAsync())).Length);
        // Another name of the shop is another picture, at another address; the old address is asked for again.
        await world.Host.WithDbAsync(async db =>
        {
            var shop = db.Shops.Single();
            shop.Name = "The Reed Room";
            await db.SaveChangesAsync();
        });
        using var later = await visitor.GetAsync(address.PathAndQuery);
        Assert.Equal("public, no-cache", string.Join(", ", later.Headers.GetValues("Cache-Control")));
        Assert.NotEqual(answer.Headers.ETag, later.Headers.ETag);
    }

    private static Keyprint Stand() => new(
        [.. Enumerable.Range(60, 25).SelectMany(key => Enumerable.Range(1, 4).Select(layer => new Reed
        {
            Key = key, Layer = layer, Layers = 4, Takes = 2, RingSeconds = 2.2 - (key - 60) * 0.06, BrightnessHz = 400 + key * 20, LoudnessDb = -40 + 6 * layer, AttackMs = 8,
        }))], 60, 84, "", "", 0, 0, 0);

    private static (int, int, int) Rgb(string paint) =>
        (Hex(paint, 1), Hex(paint, 3), Hex(paint, 5));

    private static int Hex(string paint, int at) => int.Parse(paint.AsSpan(at, 2), NumberStyles.HexNumber, CultureInfo.InvariantCulture);

    private static (int, int, int) At(byte[] pixels, int x, int y) => (pixels[3 * (1200 * y + x)], pixels[3 * (1200 * y + x) + 1], pixels[3 * (1200 * y + x) + 2]);

    /// <summary>Pixels within that are not the ground's.</summary>
    private static int Inked(byte[] pixels, int left, int right, int top, int bottom)
    {
        var ground = Rgb(Paint.Ground);
        return Enumerable.Range(top, bottom - top).Sum(y => Enumerable.Range(left, right - left).Count(x => At(pixels, x, y) != ground));
    }

    private static async Task<byte[]> DecodedAsync(byte[] png)
    {
        var folder = Directory.CreateTempSubdirectory("share-");
        try
        {
            var (file, raw) = (Path.Combine(folder.FullName, "share.png"), Path.Combine(folder.FullName, "share.rgb"));
            await File.WriteAllBytesAsync(file, png);
            using var decoder = Process.Start(new ProcessStartInfo("ffmpeg", ["-v", "error", "-i", file, "-f", "rawvideo", "-pix_fmt", "rgb24", raw]))!;
            await decoder.WaitForExitAsync();
            Assert.Equal(0, decoder.ExitCode);
            return await File.ReadAllBytesAsync(raw);
        }
        finally
        {
            folder.Delete(recursive: true);
        }
    }
}
