using System.Net;
using AngleSharp.Dom;
using LibraryShelf.Core.Tests;
using LibraryShelf.Web.Tests.Endpoints;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Routing.Template;
using Microsoft.AspNetCore.Routing;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Xunit.Abstractions;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>Every door of the site, knocked at by everyone, held against <see cref="WhoMay.Table"/>.</summary>
public sealed class WhoMayTests(ITestOutputHelper output)
{
    /// <summary>
    /// May be sent without a proof: what a failed sending is answered with, which changes nothing, and what a mail program presses, for which the key in
    /// the address is the proof (RFC 8058).
    /// </summary>
    private static readonly string[] NeedNoProof = ["POST /trouble/{code:int}", "POST /letters/{key}/{kind}", "POST /letters/{key}/{kind}?handler=Again"];

    [Fact]
    public async Task The_table_names_every_endpoint_and_no_other()
    {
        await using var host = new ShelfHost();
        var endpoints = await RoutingTable.ReadAsync(host.Services);
        var rows = WhoMay.Rows.Select(r => r.Endpoint).ToHashSet(StringComparer.Ordinal);
        Assert.True(endpoints.IsSubsetOf(rows), "Say in WhoMay.Table who may use these:\n" + string.Join('\n', endpoints.Except(rows)));
        Assert.True(rows.IsSubsetOf(endpoints), "These are endpoints no more:\n" + string.Join('\n', rows.Except(endpoints)));
        Assert.Equal(WhoMay.Rows.Count, WhoMay.Rows.Select(r => r.Name).Distinct().Count());
    }

    /// <summary>A new page without a line in Browser.Tests/pages.txt, which holds it to standards, fails this.</summary>
    [Fact]
    public async Task Every_page_is_walked_through_by_a_browser()
    {
        await using var host = new ShelfHost();
        var walked = await File.ReadAllLinesAsync(Path.Combine(AppContext.BaseDirectory, "pages.txt"));
        var pages = host.Services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>()
            .Where(e => e.Metadata.GetMetadata<PageActionDescriptor>() is not null)
            .Select(e => "/" + e.RoutePattern.RawText!.Trim('/')).ToHashSet(StringComparer.Ordinal);
        // Of two that fit, the one with fewer places left open is meant: /sign-in/code is no /sign-in/{token}.
        var met = walked.Select(w => w[w.IndexOf('/', StringComparison.Ordinal)..].Split('?')[0])
            .Select(path => pages.Where(p => Matches(p, path)).MinBy(p => p.Count(c => c == '{'))).ToHashSet();
        var missing = pages.Where(p => !met.Contains(p)).ToList();
        Assert.True(missing.Count == 0, "Add a line to Browser.Tests/pages.txt for:\n" + string.Join('\n', missing));
        // Whatever else answers to GET is named as no HTML, and is held to it where everyone knocks.
        Assert.Equal([.. NoHtml], RoutingTable.NoPages(host.Services));
    }

    /// <summary>Handed to programs or kept as files, never a page for people, so that no browser walks through them. What they refuse, a page of the site's own says.</summary>
    private static readonly SortedSet<string> NoHtml = new(StringComparer.Ordinal)
    {
        "GET /api/drafts/{id:long}",
        "GET /api/numbers/downloads",
        "GET /api/numbers/drops",
        "GET /api/numbers/libraries",
        "GET /api/numbers/members",
        "GET /api/numbers/versions",
        "GET /boxes/{slug}/feed.atom",
        "GET /boxes/{slug}/music.opus",
        "GET /boxes/{slug}/music.wav",
        "GET /boxes/{slug}/versions.json",
        "GET /boxes/{slug}/{number}/keyprint.svg",
        "GET /boxes/{slug}/{number}/listen/{path}",
        "GET /boxes/{slug}/{number}/mark.svg",
        "GET /boxes/{slug}/{number}/pile.svg",
        "GET /boxes/{slug}/{number}/share.png",
        "GET /boxes/{slug}/{number}/spine.svg",
        "GET /feed.atom",
        "GET /get/{**link}",
        "GET /health/ready",
        "GET /mine/data.json",
        "GET /mine/data.zip",
        "GET /robots.txt",
        "GET /share.png",
        "GET /sitemap.xml",
        "GET /workbench/releases/{id:long}/changes.json",
        "GET /workbench/releases/{id:long}/recordings/{sha256}",
        "GET /workbench/releases/{id:long}/sheet.csv",
        "GET /workbench/releases/{id:long}/sheet.json",
    };

    private static bool Matches(string pattern, string path) =>
        new TemplateMatcher(TemplateParser.Parse(pattern.TrimStart('/')), []).TryMatch(path, []);

    /// <summary>What practice mode adds. Checkout and Portal are whoever's who has their address, as a payment provider's are; the rest says below whose it is.</summary>
    [Fact]
    public async Task Practice_adds_these_doors_and_no_other()
    {
        await using var practice = new Practice.PracticeShop();
        await practice.Host.ClaimAsync();
        var added = await RoutingTable.ReadAsync(practice.Host.Services);
        added.ExceptWith(WhoMay.Rows.Select(r => r.Endpoint));
        Assert.Equal([.. Practised], added);
        // Who practises is the maker; the stand-in's interface asks for a key made at each start.
        using var bench = await practice.Host.Visitor().GetAsync(new Uri("/workbench/practice", UriKind.Relative));
        Assert.StartsWith("/workbench/sign-in", bench.Headers.Location!.IsAbsoluteUri ? bench.Headers.Location.PathAndQuery : bench.Headers.Location.OriginalString, StringComparison.Ordinal);
        using var member = await (await practice.Host.SignedInAsync("wren@post.example")).GetAsync(new Uri("/workbench/practice", UriKind.Relative));
        Assert.NotEqual(HttpStatusCode.OK, member.StatusCode);
        using var standIn = await practice.Host.Visitor().GetAsync(new Uri("/practice/v1/subscriptions", UriKind.Relative));
        Assert.Equal(HttpStatusCode.Unauthorized, standIn.StatusCode);
    }

    private static readonly string[] Practised =
    [
        "DELETE /practice/v1/subscriptions/{id}",
        "GET /practice/checkout/{id}",
        "GET /practice/portal/{id}",
        "GET /practice/v1/charges",
        "GET /practice/v1/charges/{id}",
        "GET /practice/v1/checkout/sessions/{id}",
        "GET /practice/v1/customers/{id}/balance_transactions",
        "GET /practice/v1/disputes",
        "GET /practice/v1/disputes/{id}",
        "GET /practice/v1/invoice_payments",
        "GET /practice/v1/invoices",
        "GET /practice/v1/invoices/{id}",
        "GET /practice/v1/prices",
        "GET /practice/v1/refunds",
        "GET /practice/v1/subscriptions",
        "GET /practice/v1/subscriptions/{id}",
        "GET /workbench/practice",
        "POST /practice/checkout/{id}",
        "POST /practice/portal/{id}?handler=Card",
        "POST /practice/portal/{id}?handler=Leave",
        "POST /practice/portal/{id}?handler=Pay",
        "POST /practice/v1/billing_portal/sessions",
        "POST /practice/v1/checkout/sessions",
        "POST /practice/v1/customers/{id}",
        "POST /practice/v1/customers/{id}/balance_transactions",
        "POST /practice/v1/prices",
        "POST /practice/v1/refunds",
        "POST /practice/v1/subscriptions/{id}",
        "POST /workbench/practice?handler=FailNext",
        "POST /workbench/practice?handler=Invoice",
        "POST /workbench/practice?handler=Pass",
    ];

    [Fact]
    public async Task Everyone_knocks_at_every_door_and_only_who_may_is_let_in()
    {
        await using var world = await DoorWorld.MakeAsync();
        var knocks = new Knocks(world);
        var wrong = new List<string>();
        foreach (var row in WhoMay.Rows)
        {
            // Who may not comes first, so that nothing is under way when they are watched. What they may is asked of no database: on PostgreSQL one of those refused
            // knocks, and all who may.
            foreach (var who in Enum.GetValues<Who>().Where(w => !TestDatabase.IsPostgres || w == Who.Visitor || row.May.Contains(w)).OrderBy(row.May.Contains))
            {
                if (await FaultAsync(world, await knocks.ForAsync(row), row, who) is { } fault)
                    wrong.Add($"{row.Name}, {who}: {fault}");
            }
        }
        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
    }

    [Fact, Trait("Database", "sqlite")]
    public async Task The_makers_cookie_changes_nothing_without_a_proof_that_her_own_page_sent_it()
    {
        await using var world = await DoorWorld.MakeAsync();
        var knocks = new Knocks(world);
        var othersProof = await ProofAsync(await world.ClientAsync(Who.Member));
        var wrong = new List<string>();
        var changes = WhoMay.Rows.Where(r => !r.IsLook && !NeedNoProof.Contains(r.Endpoint)).ToList();
        Assert.True(changes.Count > 30, "Hardly any door is knocked at.");
        foreach (var row in changes)
        {
            foreach (var proof in new[] { null, othersProof })
            {
                var knock = await knocks.ForAsync(row);
                var client = await world.ClientAsync(Who.Maker);
                await ProofAsync(client); // the cookie half of a proof alone
                var before = await ShelfState.ReadAsync(world.Host);
                using var answer = await client.SendAsync(knock.With(proof));
                if (answer.StatusCode != HttpStatusCode.BadRequest)
                    wrong.Add($"{row.Name} with {(proof is null ? "no" : "another's")} proof answers {FaultsInAnswers.Describe(answer)}");
                if (await ChangedAsync(world, before) is { } change)
                    wrong.Add($"{row.Name} with {(proof is null ? "no" : "another's")} proof changed {change}");
            }
        }
        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
    }

    [Fact, Trait("Database", "sqlite")]
    public async Task What_a_page_has_no_handler_for_is_refused_and_breaks_nothing()
    {
        await using var world = await DoorWorld.MakeAsync();
        var knocks = new Knocks(world);
        var wrong = new List<string>();
        foreach (var row in WhoMay.Rows.Where(r => r.Method == HttpMethod.Get && IsPage(r)))
        {
            var address = (await knocks.ForAsync(row)).Url.Split('?')[0];
            foreach (var (method, to) in new[] { (HttpMethod.Post, address + "?handler=Unheard"), (HttpMethod.Put, address), (HttpMethod.Delete, address) })
            {
                var client = await world.ClientAsync(Who.Maker);
                using var request = new Knock(method, to) { Fields = [] }.With(await ProofAsync(client));
                using var answer = await client.SendAsync(request);
                // A page's only POST also takes a handler's name it never heard of; it asks for the same rights.
                if (method == HttpMethod.Post ? (int)answer.StatusCode >= 500 : answer.StatusCode != HttpStatusCode.MethodNotAllowed)
                    wrong.Add($"{method} {to}: {FaultsInAnswers.Describe(answer)}");
            }
        }
        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
    }

    [Fact]
    public async Task A_link_is_made_for_who_pressed_the_button_whatever_else_is_sent()
    {
        await using var world = await DoorWorld.MakeAsync();
        var (member, maker) = (await world.Host.PersonAsync(DoorWorld.MemberEmail), await world.Host.PersonAsync(ShelfHost.MakerEmail));
        foreach (var (who, whose) in new[] { (Who.Visitor, (long?)null), (Who.Member, member.Id) })
        {
            var client = await world.ClientAsync(who);
            var knock = new Knock(HttpMethod.Post, $"/boxes/{world.Free.Slug}?personId={maker.Id}")
            {
                Fields = [new("release", $"{world.Free.ReleaseId}"), new("personId", $"{maker.Id}"), new("PersonId", $"{maker.Id}"), new("Why", "Maker")],
            };
            using var answer = await client.SendAsync(knock.With(await ProofAsync(client)));
            Assert.Equal(HttpStatusCode.SeeOther, answer.StatusCode);
            var made = await world.Host.AskDbAsync(db => db.Downloads.AsNoTracking().OrderByDescending(d => d.MadeAt).ToListAsync());
            Assert.Contains(made, d => d.PersonId == whose);
            Assert.DoesNotContain(made, d => d.PersonId == maker.Id);
        }
    }

    private static bool IsPage(DoorRow row) =>
        !Array.Exists(["/api", "/uploads", "/get", "/health", "/trouble"], door => row.Path.StartsWith(door, StringComparison.Ordinal));

    private async Task<string?> FaultAsync(DoorWorld world, Knock knock, DoorRow row, Who who)
    {
        var client = await world.ClientAsync(who);
        // A cookie needs the proof; an upload token is one by itself.
        var proof = await ProofAsync(client);
        var isMachine = who is Who.Token or Who.NumbersToken or Who.RevokedToken && knock.Fields is null && knock.Zip is null;
        var handsBytes = row.Path.StartsWith("/get/", StringComparison.Ordinal);
        var before = await ShelfState.ReadAsync(world.Host);
        using var answer = await client.SendAsync(knock.With(isMachine || row.IsLook ? null : proof));
        var status = (int)answer.StatusCode;
        output.WriteLine($"{row.Name}, {who}: {status} {answer.Headers.Location}");
        if (answer.Header("Content-Security-Policy") is not { } policy || policy.Contains("unsafe-inline", StringComparison.Ordinal) || !policy.StartsWith("default-src 'none';", StringComparison.Ordinal))
            return $"answers without a strict policy: {answer.Header("Content-Security-Policy")}";
        if (who is Who.Visitor && row.IsLook && answer.Header("Set-Cookie") is { } cookie)
            return $"sets a cookie for who only looks: {cookie}";
        if (status >= 500)
            return $"broke with {FaultsInAnswers.Describe(answer)}";
        if (status < 300 && NoHtml.Contains(row.Endpoint) && answer.Content.Headers.ContentType?.MediaType == "text/html")
            return "answers with a page that no browser walks through";
        if (!row.May.Contains(who))
            return IsRefused(answer, row) ? await ChangedAsync(world, before, handsBytes) is { } change ? $"was refused and changed {change}" : null : $"was let in with {status} {answer.Headers.Location}";
        if (knock.Answers is { } expected ? status != expected : status >= 400 || IsLedToSignIn(answer, row))
            return $"was refused with {status} {answer.Headers.Location}";
        var mayChange = !row.IsLook || handsBytes;
        var changed = await ChangedAsync(world, before, handsBytes);
        if (changed is not null)
            return mayChange ? null : $"only looked and changed {changed}";
        return mayChange && knock.MustChange ? "was let in, and nothing was changed: there is nothing behind this knock" : null;
    }

    private static bool IsRefused(HttpResponseMessage answer, DoorRow row) =>
        answer.StatusCode is HttpStatusCode.Unauthorized or HttpStatusCode.Forbidden or HttpStatusCode.NotFound or HttpStatusCode.Gone || IsLedToSignIn(answer, row);

    /// <summary>People are led to the maker's sign-in at the workbench and to the members' elsewhere; machines are led nowhere.</summary>
    private static bool IsLedToSignIn(HttpResponseMessage answer, DoorRow row)
    {
        var door = row.Path.StartsWith("/workbench", StringComparison.Ordinal) ? "/workbench/sign-in?return=" : "/sign-in?return=";
        return answer.Headers.Location is { } to && (to.IsAbsoluteUri ? to.PathAndQuery : to.OriginalString).StartsWith(door, StringComparison.Ordinal);
    }

    private static async Task<string> ProofAsync(HttpClient client) =>
        (await client.PageAsync("/sign-out")).QuerySelector("main input[name=__RequestVerificationToken]")?.GetAttribute("value") ?? Knock.FromHere;

    /// <param name="world">As it is now.</param>
    /// <param name="before">What was remembered.</param>
    /// <param name="seesBytes">False at doors that hand none over: what an earlier knock was handed is written down a moment later.</param>
    private static async Task<string?> ChangedAsync(DoorWorld world, SortedSet<string> before, bool seesBytes = false)
    {
        var after = await ShelfState.ReadAsync(world.Host);
        var changes = after.Except(before).Concat(before.Except(after)).Where(c => seesBytes || !c.StartsWith("DownloadEvents: ", StringComparison.Ordinal)).ToList();
        return changes.Count == 0 ? null : string.Join("\n  ", changes);
    }
}
