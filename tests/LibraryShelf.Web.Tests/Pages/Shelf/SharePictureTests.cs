using System.Diagnostics;
using System.Globalization;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Packaging.Keyprints;
using LibraryShelf.Web.Pages.Shelf;
using LibraryShelf.Web.Tests.Doors;
using LibraryShelf.Web.Tests.Endpoints;
using Microsoft.EntityFrameworkCore;

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
    public async Task On_the_shelfs_the_boxes_stand_on_a_board_by_their_spines_and_the_newest_is_pulled()
    {
        var (tied, free) = (PaintColours.Of(Core.Catalog.Paint.Oxide), PaintColours.Of(Core.Catalog.Paint.Samphire));
        ShareBox[] two = [new(Stand(), tied, "Jam-jar Marimba", 25, 480, true), new(Stand(), free, "Kettle Choir", 25, 100, false)];
        var words = new ShareWords("Saltmarsh Sound Room", "Two boxes of recordings, played note by note.", "");
        var png = ShelfSharePicture.Of(two, words);
        Assert.Equal(png, ShelfSharePicture.Of(two, words));
        var pixels = await DecodedAsync(png);
        Assert.Equal(1200 * 630 * 3, pixels.Length);
        // The page's colours: mist, the board's ink from edge to edge, and yellow under the one that is pulled. 46 px and 0.3 a recording wide, 222 px and 4 a key high.
        var (mist, ink, now) = (Rgb("#dde5e6"), Rgb("#10242b"), Rgb("#f0c23a"));
        Assert.Equal((mist, ink, ink, now), (At(pixels, 4, 4), At(pixels, 2, 565), At(pixels, 1197, 565), At(pixels, 99, 547)));
        Assert.Equal((Rgb(tied.Ground), Rgb(free.Ground), mist), (At(pixels, 60, 560 - 26 - 322 + 4), At(pixels, 253, 560 - 322 + 4), At(pixels, 253, 560 - 322 - 3)));
        Assert.Equal((0, 0), (Inked(pixels, 327, 1200, 200, 558, mist), Inked(pixels, 0, 1200, 180, 208, mist)));
        // Takes are counted under the board, but not under a box that is pulled.
        Assert.Equal(0, Inked(pixels, 56, 246, 574, 630, mist));
        Assert.InRange(Inked(pixels, 249, 325, 574, 630, mist), 50, 2_000);
        Assert.InRange(Inked(pixels, 56, 1144, 56, 118, mist), 4_000, 40_000);

        // As many as a board has, with the tallest there is among them: all stand between the margins, and none reaches the words.
        var many = await DecodedAsync(ShelfSharePicture.Of([.. Enumerable.Range(0, 16).Select(i => new ShareBox(Stand(), free, "The Whole Brass Band of the Lower Saltmarsh", i == 7 ? 88 : 25, 4_000, i % 2 == 0))], words));
        Assert.InRange(Inked(many, 1100, 1144, 200, 540, mist), 1_000, 44 * 340);
        Assert.Equal((0, 0), (Inked(many, 1146, 1200, 190, 558, mist), Inked(many, 0, 1200, 176, 188, mist)));
    }

    [Fact]
    public async Task A_box_and_the_shelf_say_where_their_pictures_are_and_there_they_are_kept_for_good()
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

        // The shelf's, as long as nothing can be drawn of one of its boxes, is asked for again; from then on there is one picture at one address.
        var shelf = await visitor.PageAsync("/");
        Assert.Equal("The Reed Room", shelf.QuerySelector("meta[property='og:title']")!.GetAttribute("content"));
        var alt = shelf.QuerySelector("meta[property='og:image:alt']")!.GetAttribute("content")!;
        Assert.All(shelf.QuerySelectorAll(".boxes a > b"), title => Assert.Contains(title.Words(), alt, StringComparison.Ordinal));
        var place = new Uri(shelf.QuerySelector("meta[property='og:image']")!.GetAttribute("content")!).PathAndQuery;
        Assert.Equal("public, no-cache", await CachedAsync(place));
        foreach (var release in await world.Host.AskDbAsync<List<long>>(db => db.Releases.Where(r => r.State == ReleaseState.Published && r.Id != world.Free.ReleaseId).Select(r => r.Id).ToListAsync()))
            await world.Host.MeasuredAsync(release);
        Assert.Equal("public, max-age=31536000, immutable", await CachedAsync(place));
        await world.Host.WithDbAsync(db => db.Libraries.Where(l => l.Slug == world.Free.Slug).ExecuteUpdateAsync(s => s.SetProperty(l => l.Paint, Core.Catalog.Paint.Tar)));
        Assert.Equal("public, no-cache", await CachedAsync(place));

        async Task<string> CachedAsync(string address)
        {
            using var picture = await visitor.GetAsync(address);
            Assert.Equal("image/png", picture.Content.Headers.ContentType!.MediaType);
            return string.Join(", ", picture.Headers.GetValues("Cache-Control"));
        }
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
    private static int Inked(byte[] pixels, int left, int right, int top, int bottom) => Inked(pixels, left, right, top, bottom, Rgb(Paint.Ground));

    private static int Inked(byte[] pixels, int left, int right, int top, int bottom, (int, int, int) ground) =>
        Enumerable.Range(top, bottom - top).Sum(y => Enumerable.Range(left, right - left).Count(x => At(pixels, x, y) != ground));

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
