using System.Net;
using System.Net.Http.Headers;
using AngleSharp.Dom;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Web.Tests.Endpoints;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>Where knocking is counted: the last try that is let in, the first that is not, and what is said then. Small settings; the limiter keeps its own clock.</summary>
public sealed class RateLimitTests
{
    private const int Fewest = 10; // the lowest that Shelf:Links:MostMade may be

    [Fact]
    public async Task Links_are_counted_by_person_and_for_visitors_by_network()
    {
        await using var host = new ShelfHost { Settings = { ["Shelf:Links:MostMade"] = $"{Fewest}" } };
        await host.ClaimAsync();
        var (one, other, visitor) = (await host.SignedInAsync("dunlin@post.example"), await host.SignedInAsync("turnstone@post.example"), host.Visitor());
        var proof = await ProofAsync(one);
        for (var i = 0; i < Fewest; i++)
        {
            using var early = await AskAsync(one, proof);
            Assert.Equal(HttpStatusCode.Forbidden, early.StatusCode); // no such release: asked, counted, refused
        }
        using var late = await AskAsync(one, proof);
        await AssertPutOffAsync(late);
        using var others = await AskAsync(other, await ProofAsync(other));
        Assert.Equal(HttpStatusCode.Forbidden, others.StatusCode);
        await one.PageAsync("/mine"); // looking is never counted

        using var box = await host.Visitor().PostAsync(new Uri("/boxes/kettle", UriKind.Relative), new FormUrlEncodedContent([]));
        Assert.Equal(HttpStatusCode.BadRequest, box.StatusCode);
        for (var i = 1; i < Fewest; i++)
            (await visitor.PostAsync(new Uri("/boxes/kettle", UriKind.Relative), new FormUrlEncodedContent([]))).Dispose();
        using var visitors = await visitor.PostAsync(new Uri("/boxes/kettle", UriKind.Relative), new FormUrlEncodedContent([]));
        await AssertPutOffAsync(visitors);
    }

    [Fact]
    public async Task A_member_who_fetches_thirty_libraries_at_the_usual_setting_is_never_put_off()
    {
        await using var host = new ShelfHost();
        var member = await host.SignedInAsync("dunlin@post.example");
        var proof = await ProofAsync(member);
        for (var i = 0; i < 30; i++)
        {
            using var answer = await AskAsync(member, proof);
            Assert.NotEqual(HttpStatusCode.TooManyRequests, answer.StatusCode);
        }
    }

    [Theory]
    [InlineData("/workbench/sign-in")]
    [InlineData("/workbench/claim/no-such-link")]
    [InlineData("/workbench/recover/no-such-link")]
    [InlineData("/sign-in/no-such-link")]
    [InlineData("/sign-in/code")]
    [InlineData("/sign-in")]
    public async Task Every_door_that_signs_in_counts_what_is_sent(string door)
    {
        await using var host = new ShelfHost { Settings = { ["Shelf:SignIn:MostTries"] = "5" } };
        var client = host.Visitor();
        for (var i = 0; i < 5; i++)
        {
            using var early = await client.PostAsync(new Uri(door, UriKind.Relative), new FormUrlEncodedContent([]));
            Assert.Equal(HttpStatusCode.BadRequest, early.StatusCode);
        }
        using var late = await client.PostAsync(new Uri(door, UriKind.Relative), new FormUrlEncodedContent([]));
        await AssertPutOffAsync(late);
    }

    [Fact]
    public async Task A_network_that_tried_to_sign_in_too_often_may_still_leave()
    {
        await using var host = new ShelfHost { Settings = { ["Shelf:SignIn:MostTries"] = "5" } };
        var client = host.Visitor();
        for (var i = 0; i < 6; i++)
            (await client.PostAsync(new Uri("/sign-in", UriKind.Relative), new FormUrlEncodedContent([]))).Dispose();
        using var shut = await client.PostAsync(new Uri("/sign-in", UriKind.Relative), new FormUrlEncodedContent([]));
        Assert.Equal(HttpStatusCode.TooManyRequests, shut.StatusCode);
        using var leaves = await client.PostAsync(new Uri("/leave/no-such-link", UriKind.Relative), new FormUrlEncodedContent([]));
        Assert.NotEqual(HttpStatusCode.TooManyRequests, leaves.StatusCode);
    }

    [Fact]
    public async Task Wrong_upload_tokens_shut_the_door_to_their_network()
    {
        await using var host = new ShelfHost { Settings = { ["Shelf:SignIn:MostTries"] = "5" } };
        var good = await host.RunAsync((MakeUploadToken make) => make.RunAsync("works", default));
        for (var i = 0; i < 5; i++)
        {
            Assert.Equal(HttpStatusCode.NotFound, (await WithTokenAsync(host, good)).StatusCode); // right ones never count
            Assert.Equal(HttpStatusCode.Unauthorized, (await WithTokenAsync(host, $"shelf_wrong-{i}")).StatusCode);
        }
        using var late = await WithTokenAsync(host, "shelf_wrong-again");
        Assert.Equal(HttpStatusCode.TooManyRequests, late.StatusCode);
        AssertSaysWhen(late);
        Assert.Contains("Too many wrong tokens", await late.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.Equal(HttpStatusCode.TooManyRequests, (await WithTokenAsync(host, good)).StatusCode);
    }

    private static async Task<HttpResponseMessage> WithTokenAsync(ShelfHost host, string token)
    {
        using var client = host.Visitor();
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
        return await client.GetAsync(new Uri("/api/drafts/1", UriKind.Relative));
    }

    private static async Task<HttpResponseMessage> AskAsync(HttpClient client, string proof)
    {
        using var form = new FormUrlEncodedContent([new("release", "7"), new("__RequestVerificationToken", proof)]);
        return await client.PostAsync(new Uri("/mine", UriKind.Relative), form);
    }

    private static async Task<string> ProofAsync(HttpClient client) =>
        (await client.PageAsync("/sign-out")).QuerySelector("main input[name=__RequestVerificationToken]")!.GetAttribute("value")!;

    private static async Task AssertPutOffAsync(HttpResponseMessage answer)
    {
        Assert.Equal(HttpStatusCode.TooManyRequests, answer.StatusCode);
        AssertSaysWhen(answer);
        Assert.Matches("Wait [0-9]+ minutes? and try again", await answer.Content.ReadAsStringAsync());
    }

    /// <summary>Within the ten minutes that are counted over.</summary>
    private static void AssertSaysWhen(HttpResponseMessage answer) =>
        Assert.InRange(int.Parse(answer.Header("Retry-After")!, System.Globalization.CultureInfo.InvariantCulture), 1, 600);
}
