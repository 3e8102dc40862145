using System.Net;
using System.Net.Http.Headers;
using System.Xml.Linq;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Packaging.Keyprints;
using LibraryShelf.Web.Pages.Shelf;
using LibraryShelf.Web.Tests.Doors;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Endpoints;

public sealed class KeyprintTests
{
    [Fact]
    public async Task A_picture_is_kept_for_good_at_its_own_address_and_asked_for_again_at_any_other()
    {
        await using var world = await DoorWorld.MakeAsync();
        await world.Host.MeasuredAsync(world.ForMembers.ReleaseId);
        var library = await LibraryAsync(world, world.ForMembers.Slug);
        using var visitor = world.Host.Visitor();
        foreach (var address in new[]
        {
            KeyprintAddress.Large(library.Slug, "1.0.0", library.Paint), KeyprintAddress.Small(library.Slug, "1.0.0", library.Paint),
            KeyprintAddress.Spine(library.Slug, "1.0.0", library.Paint, isTied: true, width: 70),
        })
        {
            using var answer = await visitor.GetAsync(address);
            Assert.Equal("public, max-age=31536000, immutable", Caching(answer));
            Assert.Equal("image/svg+xml", answer.Content.Headers.ContentType!.MediaType);
            Assert.Contains(PaintColours.Of(library.Paint).Ground, await answer.Content.ReadAsStringAsync(), StringComparison.Ordinal);
            using var again = new HttpRequestMessage(HttpMethod.Get, address) { Headers = { IfNoneMatch = { answer.Headers.ETag! } } };
            using var same = await visitor.SendAsync(again);
            Assert.Equal(HttpStatusCode.NotModified, same.StatusCode);
            using var other = await visitor.GetAsync(address.Split('?')[0] + "?v=0-tar");
            Assert.Equal("public, no-cache", Caching(other));
        }
        // Another paint is another address.
        await world.Host.WithDbAsync(db => db.Libraries.Where(l => l.Slug == library.Slug).ExecuteUpdateAsync(l => l.SetProperty(x => x.Paint, library.Paint == Paint.Oxide ? Paint.Sky : Paint.Oxide)));
        using var repainted = await visitor.GetAsync(KeyprintAddress.Large(library.Slug, "1.0.0", library.Paint));
        Assert.Equal("public, no-cache", Caching(repainted));
        Assert.DoesNotContain(PaintColours.Of(library.Paint).Ground, await repainted.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_version_given_early_has_a_picture_for_those_alone_and_a_withdrawn_one_keeps_its()
    {
        await using var world = await DoorWorld.MakeAsync();
        var (slug, id) = await world.EarlyAsync();
        await world.Host.MeasuredAsync(id);
        var address = KeyprintAddress.Large(slug, "1.0.0", (await LibraryAsync(world, slug)).Paint);
        using var visitor = world.Host.Visitor();
        using var refused = await visitor.GetAsync(address);
        Assert.Equal((HttpStatusCode.NotFound, "no-store"), (refused.StatusCode, Caching(refused)));
        using var guest = await (await world.ClientAsync(Who.LeftMember)).GetAsync(address);
        Assert.Equal((HttpStatusCode.OK, "max-age=31536000, private, immutable"), (guest.StatusCode, Caching(guest)));

        await world.Host.MeasuredAsync(world.Free.ReleaseId);
        await world.Host.WithDbAsync(db => db.Releases.Where(r => r.Id == world.Free.ReleaseId).ExecuteUpdateAsync(r => r.SetProperty(x => x.State, ReleaseState.Withdrawn)));
        using var withdrawn = await visitor.GetAsync($"/boxes/{world.Free.Slug}/1.0.0/keyprint.svg");
        Assert.Equal(HttpStatusCode.OK, withdrawn.StatusCode);
        using var never = await visitor.GetAsync($"/boxes/{world.Free.Slug}/1.0.1/keyprint.svg");
        Assert.Equal(HttpStatusCode.NotFound, never.StatusCode);
    }

    [Fact]
    public async Task A_version_of_which_nothing_was_measured_has_no_picture_and_its_page_none_to_load()
    {
        await using var world = await DoorWorld.MakeAsync();
        using var visitor = world.Host.Visitor();
        using var answer = await visitor.GetAsync($"/boxes/{world.Free.Slug}/1.0.0/mark.svg");
        Assert.Equal(HttpStatusCode.NotFound, answer.StatusCode);
        var page = await visitor.PageAsync($"/boxes/{world.Free.Slug}");
        Assert.Null(page.QuerySelector(".keyprint"));
    }

    [Fact]
    public async Task The_page_shows_the_picture_and_says_the_same_in_words()
    {
        await using var world = await DoorWorld.MakeAsync();
        await world.Host.MeasuredAsync(world.Free.ReleaseId);
        using var visitor = world.Host.Visitor();
        var page = await visitor.PageAsync($"/boxes/{world.Free.Slug}");
        var picture = page.QuerySelector(".keyprint img")!;
        Assert.Contains("1 key, C4", picture.GetAttribute("alt"), StringComparison.Ordinal);
        Assert.NotNull(XDocument.Parse(await visitor.GetStringAsync(picture.GetAttribute("src"))).Root);
        var words = page.QuerySelector("section[aria-labelledby=keyprint-words]")!.TextContent;
        Assert.Contains("Its notes ring about 1 s.", words, StringComparison.Ordinal);
        Assert.Equal("C4", page.QuerySelector("section[aria-labelledby=keyprint-words] details tbody tr th")!.Words());
    }

    [Fact]
    public void Each_key_has_a_row_of_what_its_reeds_have_and_a_sentence_tells_how_far_loudness_goes()
    {
        Reed[] reeds =
        [
            new() { Key = 60, Layer = 1, Layers = 2, Takes = 2, RingSeconds = 0.84, BrightnessHz = 812, LoudnessDb = -40, AttackMs = 8 },
            new() { Key = 60, Layer = 2, Layers = 2, Takes = 3, RingSeconds = 1.42, BrightnessHz = 2390, LoudnessDb = -12.2, AttackMs = 8.3 },
            new() { Key = 62, Layer = 1, Layers = 1, Takes = 1, IsLooped = true, BrightnessHz = 1500, LoudnessDb = -12, AttackMs = 180 },
        ];
        var print = new Keyprint(reeds, 60, 62, "", "", 0, 0, 0);
        Assert.Equal(
            [new("C4", 2, 3, "0.8 s to 1.4 s", "−28 to 0", "812 to 2,390", "8"), new("D4", 1, 1, "while held", "0", "1,500", "180")],
            KeyprintRows.Of(print));
        Assert.Contains("The softest reed (C4) is 28 dB below the loudest (D4).", KeyprintWords.Sentences(print));
        Assert.Contains("All reeds are about equally loud.", KeyprintWords.Sentences(print with { Reeds = [reeds[1], reeds[2]] }));
        Assert.DoesNotContain(KeyprintWords.Sentences(print with { Reeds = [reeds[0]] }), s => s.Contains("loud", StringComparison.Ordinal) && s.Contains("reed", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Paints_are_those_of_the_style_sheet()
    {
        await using var host = new ShelfHost();
        var sheet = await host.Visitor().GetStringAsync("/css/shelf.css");
        foreach (var paint in Enum.GetValues<Paint>())
        {
            var (ground, ink, soft) = PaintColours.Of(paint);
            Assert.Contains($".paint-{paint.ToString().ToLowerInvariant()} {{ --ground: {ground}; --on: {ink}; --soft: {soft}; }}", sheet, StringComparison.Ordinal);
        }
    }

    private static string Caching(HttpResponseMessage answer) => string.Join(", ", answer.Headers.TryGetValues("Cache-Control", out var values) ? values : []);

    private static Task<Library> LibraryAsync(DoorWorld world, string slug) => world.Host.AskDbAsync(db => db.Libraries.AsNoTracking().SingleAsync(l => l.Slug == slug));
}
