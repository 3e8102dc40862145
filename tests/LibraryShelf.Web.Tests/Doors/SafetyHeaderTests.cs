using System.Net;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Tests.Endpoints;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>The headers that every answer carries and the attributes of every cookie, on a socket and with all kinds of answers.</summary>
public sealed class SafetyHeaderTests
{
    private static readonly string[] Always =
        ["Content-Security-Policy", "X-Content-Type-Options", "Referrer-Policy", "Cross-Origin-Opener-Policy", "Cross-Origin-Resource-Policy", "Permissions-Policy"];

    [Fact]
    public async Task Every_kind_of_answer_carries_them()
    {
        await using var host = new ShelfHost { Settings = { ["AllowedHosts"] = "localhost" } };
        await host.ClaimAsync();
        await host.OpenDraftAsync();
        using var client = host.Visitor();
        using var style = await client.GetAsync(new Uri("/css/shelf.css", UriKind.Relative));
        var asked = new (string What, int Status, HttpRequestMessage Request)[]
        {
            ("a page", 200, new(HttpMethod.Get, "/")),
            ("a page by HEAD", 200, new(HttpMethod.Head, "/help")),
            ("a file", 200, new(HttpMethod.Get, "/css/shelf.css")),
            ("a file unchanged", 304, new(HttpMethod.Get, "/css/shelf.css") { Headers = { { "If-None-Match", style.Headers.ETag!.ToString() } } }),
            ("a way to sign in", 302, new(HttpMethod.Get, "/workbench")),
            ("a missing page", 404, new(HttpMethod.Get, "/nowhere")),
            ("a form without proof", 400, new(HttpMethod.Post, "/sign-in") { Content = new FormUrlEncodedContent([]) }),
            ("a wrong method", 405, new(HttpMethod.Delete, "/health/ready")),
            ("what tus offers", 204, new(HttpMethod.Options, "/uploads")),
            ("an upload by nobody", 401, SendBench.Tus(HttpMethod.Post, "/uploads")),
            ("a draft by nobody", 401, new(HttpMethod.Get, "/api/drafts/1")),
            ("a link that is none", 403, new(HttpMethod.Get, "/get/x/y?sig=z")),
            ("health", 200, new(HttpMethod.Get, "/health/ready")),
            ("another host's page", 400, new(HttpMethod.Get, "/") { Headers = { { "Host", "elsewhere.example" } } }),
        };
        foreach (var (what, status, request) in asked)
        {
            using var answer = await client.SendAsync(request);
            Assert.True((int)answer.StatusCode == status, $"{what}: {FaultsInAnswers.Describe(answer)}");
            AssertSafe(what, answer);
            Assert.False(answer.Headers.Contains("Strict-Transport-Security"), what);
        }
    }

    [Fact]
    public async Task A_fault_carries_them_too()
    {
        await using var host = new ShelfHost { Replace = services => services.AddTransient<ReadShelf>(_ => throw new InvalidOperationException("broken for this test")) };
        using var client = host.Visitor();
        using var answer = await client.GetAsync(new Uri("/", UriKind.Relative));
        Assert.Equal(HttpStatusCode.InternalServerError, answer.StatusCode);
        AssertSafe("a fault", answer);
    }

    [Fact]
    public async Task The_policy_allows_nothing_inline_and_no_frame()
    {
        await using var host = new ShelfHost();
        using var client = host.Visitor();
        using var answer = await client.GetAsync(new Uri("/", UriKind.Relative));
        var rules = answer.Header("Content-Security-Policy")!.Split(';', StringSplitOptions.TrimEntries);
        Assert.Contains("default-src 'none'", rules);
        Assert.Contains("script-src 'self'", rules);
        Assert.Contains("style-src 'self'", rules);
        Assert.Contains("frame-ancestors 'none'", rules);
        Assert.DoesNotContain(rules, r => r.Contains("unsafe", StringComparison.Ordinal) || r.Contains('*', StringComparison.Ordinal) || r.Contains("data:", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("http://shelf.example", "https://shelf.example", true)] // behind a proxy that speaks TLS
    [InlineData("https://shelf.example", "", true)]
    [InlineData("http://shelf.example", "", false)] // RFC 6797 §7.2: never over plain http
    [InlineData("http://other.example", "https://shelf.example", false)]
    [InlineData("http://localhost", "https://shelf.example", false)]
    [InlineData("https://localhost", "", false)]
    public async Task Browsers_are_bound_to_https_where_the_shelf_is_reached_by_it(string asked, string publicUrl, bool isBound)
    {
        await using var host = new ShelfHost { Settings = { ["Shelf:PublicUrl"] = publicUrl } };
        using var client = host.CreateDefaultClient(new Uri(asked));
        using var answer = await client.GetAsync(new Uri("/css/shelf.css", UriKind.Relative));
        Assert.Equal(isBound ? "max-age=31536000" : null, answer.Header("Strict-Transport-Security"));
    }

    [Theory]
    [InlineData("http://localhost", "", false)]
    [InlineData("https://shelf.example", "", true)]
    [InlineData("http://shelf.example", "https://shelf.example", true)]
    public async Task Every_cookie_is_kept_from_scripts_from_other_sites_and_from_plain_http(string address, string publicUrl, bool isSecure)
    {
        await using var host = new ShelfHost { Settings = { ["Shelf:PublicUrl"] = publicUrl } };
        await host.PersonAsync(ShelfHost.MakerEmail, isMaker: true, DoorWorld.Password);
        // The jar would hold back a Secure cookie from an address that says http, as a browser does not behind a proxy.
        var jar = new Jar();
        using var client = host.CreateDefaultClient(new Uri(address), jar);
        var door = await client.PageAsync("/workbench/sign-in");
        using (var asking = new Knock(HttpMethod.Post, "/workbench/sign-in?handler=PasskeyChallenge").With(Knock.FromHere))
        using (var challenge = await client.SendAsync(asking))
            Assert.True(challenge.IsSuccessStatusCode);
        using (var opened = await client.PressAsync(door, "Sign in", ("Email", ShelfHost.MakerEmail), ("Password", DoorWorld.Password)))
            Assert.Equal("/workbench", opened.Headers.Location?.OriginalString);
        // What was just done is said once, by a cookie of its own.
        await client.PressAndFollowAsync(await client.PageAsync("/workbench/libraries/new"), "Add the library", ("Title", "Tin"), ("Sound", "struck"));
        await client.PressAndFollowAsync(await client.PageAsync("/workbench/libraries/tin"), "Save the words", ("Title", "Tins"));
        Assert.Subset(jar.Set.Select(c => c.Name).ToHashSet(), new HashSet<string> { "shelf-form", "shelf-person", "shelf-said", "shelf-passkey" });
        foreach (var (name, attributes) in jar.Set)
        {
            Assert.Contains("httponly", attributes);
            Assert.Contains(attributes, a => a is "samesite=lax" or "samesite=strict");
            Assert.True(attributes.Contains("secure") == isSecure, $"{name}: {string.Join("; ", attributes)}");
            Assert.DoesNotContain(attributes, a => a.StartsWith("domain", StringComparison.Ordinal));
        }
    }

    private static void AssertSafe(string what, HttpResponseMessage answer)
    {
        foreach (var header in Always)
            Assert.True(answer.Headers.Contains(header), $"{what} ({(int)answer.StatusCode}) has no {header}");
        Assert.Equal("nosniff", answer.Header("X-Content-Type-Options"));
        Assert.Equal("strict-origin", answer.Header("Referrer-Policy"));
    }

    /// <summary>Keeps cookies whatever their attributes, and notes each that was set.</summary>
    private sealed class Jar : DelegatingHandler
    {
        private readonly Dictionary<string, string> _values = new(StringComparer.Ordinal);

        public List<(string Name, HashSet<string> Attributes)> Set { get; } = [];

        protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
        {
            if (_values.Count > 0)
                request.Headers.Add("Cookie", string.Join("; ", _values.Select(v => $"{v.Key}={v.Value}")));
            var answer = await base.SendAsync(request, cancellationToken);
            foreach (var line in answer.Headers.TryGetValues("Set-Cookie", out var set) ? set : [])
            {
                var parts = line.Split(';', StringSplitOptions.TrimEntries);
                var name = parts[0][..parts[0].IndexOf('=', StringComparison.Ordinal)];
                _values[name] = parts[0][(name.Length + 1)..];
                Set.Add((name, [.. parts.Skip(1).Select(p => p.ToLowerInvariant())]));
            }
            return answer;
        }
    }
}
