using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Benchmarks.Making;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Benchmarks.Paying;

/// <summary>"May this member download this?" with its queries, and messages of the payment provider through the published program.</summary>
internal static class PaymentsBench
{
    private const int Months = 60, Asks = 500, Messages = 4_000, Connections = 64, MessagesGoal = 1_000;
    private const string Secret = "whsec_bench";

    public static async Task RunAsync(Bench bench)
    {
        await AskAsync(bench);
        await TakeInAsync(bench);
    }

    private static async Task AskAsync(Bench bench)
    {
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder("rights"));
        var (release, member) = await MemberAsync(shelf);
        await RoundAsync();
        var seconds = await bench.InTurnsAsync(_ => RoundAsync());
        var milliseconds = seconds[0] / Asks * 1000;
        bench.Add($"may download, a member with {Months} paid months, SQLite", milliseconds, "ms", "< 1", milliseconds < 1);

        async Task<double> RoundAsync()
        {
            var begun = Stopwatch.GetTimestamp();
            for (var i = 0; i < Asks; i++)
            {
                // A context of its own each time, as a request has one.
                await using var db = shelf.Open();
                if (await new ReadRights(db, TimeProvider.System).RunAsync(release, member, CancellationToken.None) != MayDownloadWhy.PaidMonth)
                    throw new InvalidOperationException("The member may not download a paid month.");
            }
            return Stopwatch.GetElapsedTime(begun).TotalSeconds;
        }
    }

    /// <summary>A member of sixty months, among a thousand others of twelve, and a box of the third month.</summary>
    private static async Task<(long ReleaseId, long PersonId)> MemberAsync(Shelf shelf)
    {
        await using var db = shelf.Open();
        var now = TimeProvider.System.GetUtcNow();
        var people = Enumerable.Range(0, 1000).Select(n => new Person { UserName = $"m{n}@post.example", Email = $"m{n}@post.example" }).ToList();
        db.Users.AddRange(people);
        await db.SaveChangesAsync();
        var first = new YearMonth(2021, 1);
        foreach (var person in people)
        {
            db.PaidMemberships.Add(new PaidMembership { PersonId = person.Id, ProviderId = $"sub_{person.Id}", StartedAt = now.AddMonths(-Months), ActiveUntil = now.AddDays(9) });
            db.PaidMonths.AddRange(Enumerable.Range(0, person == people[0] ? Months : 12).Select(n => new PaidMonth
            {
                PersonId = person.Id, Month = first.PlusMonths(n), PaymentId = $"in_{person.Id}_{n}", OpensAt = now.AddDays(-1),
            }));
        }
        var library = new Library { Slug = "kettle", Title = "Kettle", DeclaredAt = now, Month = first.PlusMonths(2) };
        library.Audiences.Add(new AudienceDecision { Audience = Audience.Members, DecidedAt = now.AddDays(-1) });
        var release = new Release { Number = "1.0.0" };
        foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
            if (!release.MoveTo(state, now))
                throw new InvalidOperationException($"A release that can't become {state}.");
        library.Releases.Add(release);
        db.Libraries.Add(library);
        await db.SaveChangesAsync();
        return (release.Id, people[0].Id);
    }

    private static async Task TakeInAsync(Bench bench)
    {
        var shelf = await Shelf.ClaimedAsync(bench.NewFolder("messages"));
        await shelf.StartAsync(bench, ("Shelf__Payments__MessageSecret", Secret));
        using var http = new HttpClient(new SocketsHttpHandler { MaxConnectionsPerServer = Connections }) { BaseAddress = shelf.Address };
        await SendAsync(http, -1);
        var seconds = await bench.InTurnsAsync(round => SendAsync(http, round));
        await using var db = shelf.Open();
        var sent = Messages * (bench.Rounds + 1);
        var kept = await db.PaymentEvents.CountAsync();
        if (kept != sent)
            throw new InvalidOperationException($"{sent} messages were answered with 200, and {kept} are kept.");
        bench.Add("messages of the payment provider kept on SQLite, over HTTP", Messages / seconds[0], "/s", $"≥ {MessagesGoal}", Messages / seconds[0] >= MessagesGoal);
    }

    private static async Task<double> SendAsync(HttpClient http, int round)
    {
        var begun = Stopwatch.GetTimestamp();
        await Task.WhenAll(Enumerable.Range(0, Connections).Select(async connection =>
        {
            for (var n = connection; n < Messages; n += Connections)
                await SendOneAsync(http, string.Create(CultureInfo.InvariantCulture, $"evt_{round}_{n}"), n % 200);
        }));
        return Stopwatch.GetElapsedTime(begun).TotalSeconds;
    }

    private static async Task SendOneAsync(HttpClient http, string id, int invoice)
    {
        var body = $$$"""{"id":"{{{id}}}","object":"event","type":"invoice.paid","api_version":"2026-10-28","data":{"object":{"object":"invoice","id":"in_{{{invoice}}}","pad":"{{{new string('x', 3000)}}}"} } }""";
        var t = TimeProvider.System.GetUtcNow().ToUnixTimeSeconds().ToString(CultureInfo.InvariantCulture);
        using var request = new HttpRequestMessage(HttpMethod.Post, "/hooks/payments") { Content = new StringContent(body) };
        request.Headers.Add("Stripe-Signature", $"t={t},v1={Convert.ToHexStringLower(HMACSHA256.HashData(Encoding.UTF8.GetBytes(Secret), Encoding.UTF8.GetBytes($"{t}.{body}")))}");
        using var answer = await http.SendAsync(request);
        if (answer.StatusCode != HttpStatusCode.OK)
            throw new InvalidOperationException($"A signed message was answered with {(int)answer.StatusCode}.");
    }
}
