using System.Net;
using System.Net.Http.Headers;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Packaging.Listening;
using LibraryShelf.Web.Pages.Shelf;
using LibraryShelf.Web.Tests.Doors;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Endpoints;

public sealed class ListenTests
{
    [Fact]
    public async Task A_box_for_members_can_be_heard_by_everyone_and_each_address_is_one_file_for_good()
    {
        await using var world = await DoorWorld.MakeAsync();
        var (slug, id) = world.ForMembers;
        var files = await ListenThings.HeardAsync(world.Host, id);
        using var visitor = world.Host.Visitor();
        foreach (var (name, type) in new[]
        {
            (ListenThings.Excerpt, "audio/ogg; codecs=opus"), ("excerpt-1.wav", "audio/wav"), (ListeningSet.ManifestName, "application/json"),
            (ListeningSet.OpusName, "application/octet-stream"),
        })
        {
            var address = ListenAddress.Of(slug, "1.0.0", name, files[name]);
            using var answer = await visitor.GetAsync(address);
            Assert.Equal((HttpStatusCode.OK, "public, max-age=31536000, immutable"), (answer.StatusCode, Caching(answer)));
            Assert.Equal(type, answer.Content.Headers.ContentType!.ToString());
            Assert.Equal($"bytes of {name}", await answer.Content.ReadAsStringAsync());
            using var part = new HttpRequestMessage(HttpMethod.Get, address) { Headers = { Range = new RangeHeaderValue(6, 7) } };
            using var partly = await visitor.SendAsync(part);
            Assert.Equal((HttpStatusCode.PartialContent, "of"), (partly.StatusCode, await partly.Content.ReadAsStringAsync()));
            using var other = await visitor.GetAsync(address.Split('?')[0] + "?v=0123456789abcdef");
            Assert.Equal("public, no-cache", Caching(other));
        }
        using var none = await visitor.GetAsync($"/boxes/{slug}/1.0.0/listen/excerpt-9.opus");
        Assert.Equal((HttpStatusCode.NotFound, "no-store"), (none.StatusCode, Caching(none)));
    }

    [Fact]
    public async Task A_version_given_early_is_heard_by_its_guests_alone_and_a_withdrawn_one_by_nobody()
    {
        await using var world = await DoorWorld.MakeAsync();
        var (early, earlyId) = await world.EarlyAsync();
        var address = ListenAddress.Of(early, "1.0.0", ListenThings.Excerpt, (await ListenThings.HeardAsync(world.Host, earlyId))[ListenThings.Excerpt]);
        using var visitor = world.Host.Visitor();
        using var refused = await visitor.GetAsync(address);
        Assert.Equal((HttpStatusCode.NotFound, "no-store"), (refused.StatusCode, Caching(refused)));
        using var guest = await (await world.ClientAsync(Who.LeftMember)).GetAsync(address);
        Assert.Equal((HttpStatusCode.OK, "max-age=31536000, private, immutable"), (guest.StatusCode, Caching(guest)));

        var (free, freeId) = world.Free;
        var open = ListenAddress.Of(free, "1.0.0", ListenThings.Excerpt, (await ListenThings.HeardAsync(world.Host, freeId))[ListenThings.Excerpt]);
        Assert.Equal(HttpStatusCode.OK, (await visitor.GetAsync(open)).StatusCode);
        Assert.Equal(HttpStatusCode.OK, (await visitor.GetAsync($"/boxes/{free}/music.opus")).StatusCode);
        await world.Host.WithDbAsync(db => db.Releases.Where(r => r.Id == freeId).ExecuteUpdateAsync(r => r.SetProperty(x => x.State, ReleaseState.Withdrawn)));
        Assert.Equal(HttpStatusCode.NotFound, (await visitor.GetAsync(open)).StatusCode);
        Assert.Equal(HttpStatusCode.NotFound, (await visitor.GetAsync($"/boxes/{free}/music.opus")).StatusCode);
    }

    [Fact]
    public async Task The_page_offers_players_that_load_nothing_and_says_to_start_low()
    {
        await using var world = await DoorWorld.MakeAsync();
        using var visitor = world.Host.Visitor();
        var silent = (await visitor.PageAsync($"/boxes/{world.Free.Slug}")).QuerySelector("#listening")!;
        Assert.Contains("What can be heard of 1.0.0 is being made", silent.TextContent, StringComparison.Ordinal);
        Assert.Empty(silent.QuerySelectorAll("audio, script, .caution"));
        Assert.Equal("Open", await ButtonAsync());
        await ListenThings.HeardAsync(world.Host, world.Free.ReleaseId);
        Assert.Equal("Open and listen", await ButtonAsync());
        var heard = (await visitor.PageAsync($"/boxes/{world.Free.Slug}")).QuerySelector("#listening")!;
        Assert.All(heard.QuerySelectorAll("audio"), a => Assert.Equal(("none", true), (a.GetAttribute("preload"), a.HasAttribute("controls"))));
        Assert.Equal(2, heard.QuerySelectorAll("audio").Length);
        Assert.Equal(["audio/ogg; codecs=opus", "audio/wav"], heard.QuerySelectorAll("audio")[0].QuerySelectorAll("source").Select(s => s.GetAttribute("type")));
        Assert.Contains("Start with your volume low", heard.QuerySelector(".caution")!.TextContent, StringComparison.Ordinal);
        Assert.True(heard.QuerySelector(".caution")!.CompareDocumentPosition(heard.QuerySelector("audio")!).HasFlag(AngleSharp.Dom.DocumentPositions.Following));
        Assert.Contains("Low water", heard.TextContent, StringComparison.Ordinal);
        Assert.Contains("2.1 MB", heard.QuerySelector("[data-part=load]")!.TextContent, StringComparison.Ordinal);
        Assert.Contains("−23.1\u00a0LUFS, true peak −5.0\u00a0dBTP", heard.TextContent, StringComparison.Ordinal);

        // A search is no page that is kept for a while.
        async Task<string> ButtonAsync() => (await visitor.PageAsync("/?find=a")).QuerySelector($".acts a.solid[href='/boxes/{world.Free.Slug}']")!.TextContent;
    }

    private static string? Caching(HttpResponseMessage answer) => answer.Headers.CacheControl?.ToString();
}
