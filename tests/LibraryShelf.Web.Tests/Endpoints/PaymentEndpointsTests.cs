using System.Globalization;
using System.Net;
using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Payments;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Endpoints;

public sealed class PaymentEndpointsTests : IAsyncDisposable
{
    private const string Secret = "whsec_of_this_test";
    private const string About = """{"object":"invoice","id":"in_1"}""";

    private readonly ShelfHost host = new()
    {
        Clock = new FakeTimeProvider(new DateTimeOffset(2026, 11, 25, 12, 0, 0, TimeSpan.Zero)),
        Settings = new() { ["Shelf:Payments:MessageSecret"] = Secret },
    };

    public ValueTask DisposeAsync() => host.DisposeAsync();

    [Fact]
    public async Task A_signed_message_is_kept()
    {
        Assert.Equal(HttpStatusCode.OK, await PostAsync(Message()));
        var row = await host.AskDbAsync(db => db.PaymentEvents.SingleAsync());
        Assert.Equal(
            ("evt_1", "invoice.paid", SubjectKind.Invoice, "in_1", host.Clock!.GetUtcNow(), null),
            (row.ProviderId, row.Kind, row.SubjectKind!.Value, row.SubjectId, row.ReceivedAt, row.DoneAt));
    }

    [Fact]
    public async Task Twice_it_is_kept_once()
    {
        Assert.Equal(HttpStatusCode.OK, await PostAsync(Message()));
        Assert.Equal(HttpStatusCode.OK, await PostAsync(Message()));
        Assert.Equal(1, await RowsAsync());
    }

    [Fact]
    public async Task At_the_same_instant_it_is_kept_once_and_none_beside_it_is_lost()
    {
        _ = host.Server; // started once, before forty ask for it
        var answers = await Task.WhenAll(Enumerable.Range(0, 40).Select(n => Task.Run(() => PostAsync(Message($"evt_{n % 10}")))));
        Assert.All(answers, a => Assert.Equal(HttpStatusCode.OK, a));
        Assert.Equal(10, await RowsAsync());
    }

    [Theory]
    [InlineData("""{"object":"kettle","id":"ke_1"}""")]
    [InlineData("""{"object":"customer","id":"cus_1"}""")]
    [InlineData("{}")]
    public async Task A_message_about_nothing_of_ours_is_kept_once_and_done_at_once(string about)
    {
        Assert.Equal(HttpStatusCode.OK, await PostAsync(Message(about: about, kind: "kettle.boiled")));
        Assert.Equal(HttpStatusCode.OK, await PostAsync(Message(about: about, kind: "kettle.boiled")));
        var row = await host.AskDbAsync(db => db.PaymentEvents.SingleAsync());
        Assert.Equal(("evt_1", "kettle.boiled", null, null, host.Clock!.GetUtcNow()), (row.ProviderId, row.Kind, row.SubjectKind, row.SubjectId, row.DoneAt));
    }

    [Fact]
    public async Task An_unknown_kind_about_a_thing_of_ours_is_looked_at()
    {
        Assert.Equal(HttpStatusCode.OK, await PostAsync(Message(kind: "invoice.turned_purple")));
        Assert.Equal(1, await RowsAsync());
    }

    [Theory]
    [InlineData("")]
    [InlineData("[]")]
    [InlineData("no json")]
    [InlineData("""{"id":"evt_1","type":"invoice.paid","data":{"object":{"object":"invoice","id":"in_1"}}}""")] // no api_version
    [InlineData("""{"id":"evt_\ud800","type":"a","api_version":"1","data":{"object":{"object":"invoice","id":"in_1"}}}""")]
    public async Task Signed_but_no_message_it_is_refused(string body)
    {
        Assert.Equal(HttpStatusCode.BadRequest, await PostAsync(body));
        Assert.Equal(0, await RowsAsync());
    }

    [Theory]
    [InlineData(301)]
    [InlineData(-301)]
    public async Task Too_old_or_from_the_future_it_is_refused(int late)
    {
        Assert.Equal(HttpStatusCode.BadRequest, await PostAsync(Message(), late: late));
        Assert.Equal(0, await RowsAsync());
    }

    [Fact]
    public async Task Not_signed_or_signed_by_another_it_is_refused()
    {
        var body = Encoding.UTF8.GetBytes(Message());
        Assert.Equal(HttpStatusCode.BadRequest, await PostAsync(Message(), secret: "another"));
        Assert.Equal(HttpStatusCode.BadRequest, await PostAsync(body));
        Assert.Equal(HttpStatusCode.BadRequest, await PostAsync(body, ""));
        Assert.Equal(HttpStatusCode.BadRequest, await PostAsync(body, "t=1,v1=nonsense"));
        Assert.Equal(HttpStatusCode.BadRequest, await PostAsync(body, Signature(body, Secret), Signature(body, Secret)));
        Assert.Equal(0, await RowsAsync());
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)] // in pieces: its length is not said before
    public async Task Ten_megabytes_are_refused_though_signed(bool isLengthSaid)
    {
        var body = Encoding.UTF8.GetBytes(Message() + new string(' ', 10_000_000));
        using var content = isLengthSaid ? new ByteArrayContent(body) : (HttpContent)new StreamContent(new Unsized(body));
        Assert.Equal(HttpStatusCode.BadRequest, await SendAsync(content, Signature(body, Secret)));
        Assert.Equal(0, await RowsAsync());
    }

    [Fact]
    public async Task The_longest_that_is_read_is_kept_and_one_byte_more_is_not()
    {
        const int Most = 512 * 1024; // PaymentEndpoints
        Assert.Equal(HttpStatusCode.BadRequest, await PostAsync(Message().PadRight(Most + 1)));
        Assert.Equal(HttpStatusCode.OK, await PostAsync(Message().PadRight(Most)));
        Assert.Equal(1, await RowsAsync());
    }

    [Theory]
    [InlineData("GET")]
    [InlineData("PUT")]
    [InlineData("DELETE")]
    public async Task Another_method_finds_nothing_there(string method)
    {
        using var request = new HttpRequestMessage(new HttpMethod(method), "/hooks/payments");
        using var answer = await host.Visitor().SendAsync(request);
        Assert.Contains(answer.StatusCode, new[] { HttpStatusCode.MethodNotAllowed, HttpStatusCode.NotFound });
    }

    [Fact]
    public async Task What_the_database_refuses_is_asked_for_again_and_kept_then()
    {
        await RunSqlAsync("""ALTER TABLE "PaymentEvents" RENAME TO "Elsewhere" """);
        Assert.Equal(HttpStatusCode.ServiceUnavailable, await PostAsync(Message()));
        await RunSqlAsync("""ALTER TABLE "Elsewhere" RENAME TO "PaymentEvents" """);
        Assert.Equal(0, await RowsAsync());
        Assert.Equal(HttpStatusCode.OK, await PostAsync(Message()));
        Assert.Equal(1, await RowsAsync());
    }

    private static string Message(string id = "evt_1", string about = About, string kind = "invoice.paid") =>
        $$$"""{"id":"{{{id}}}","object":"event","type":"{{{kind}}}","api_version":"2026-10-28","data":{"object":{{{about}}} }}""";

    private Task<HttpStatusCode> PostAsync(string body, string secret = Secret, int late = 0)
    {
        var bytes = Encoding.UTF8.GetBytes(body);
        return PostAsync(bytes, Signature(bytes, secret, late));
    }

    private async Task<HttpStatusCode> PostAsync(byte[] body, params string[] signatures)
    {
        using var content = new ByteArrayContent(body);
        return await SendAsync(content, signatures);
    }

    private async Task<HttpStatusCode> SendAsync(HttpContent content, params string[] signatures)
    {
        using var request = new HttpRequestMessage(HttpMethod.Post, "/hooks/payments") { Content = content };
        foreach (var signature in signatures)
            request.Headers.TryAddWithoutValidation("Stripe-Signature", signature);
        using var answer = await host.Visitor().SendAsync(request);
        return answer.StatusCode;
    }

    /// <summary>Stripe's documented scheme: HMAC-SHA256 of "t.body".</summary>
    private string Signature(byte[] body, string secret, int late = 0)
    {
        var t = (host.Clock!.GetUtcNow().ToUnixTimeSeconds() - late).ToString(CultureInfo.InvariantCulture);
        byte[] signed = [.. Encoding.UTF8.GetBytes(t + "."), .. body];
        return $"t={t},v1={Convert.ToHexStringLower(HMACSHA256.HashData(Encoding.UTF8.GetBytes(secret), signed))}";
    }

    private Task<int> RowsAsync() => host.AskDbAsync(db => db.PaymentEvents.CountAsync());

    private Task RunSqlAsync(string sql) => host.WithDbAsync(db => db.Database.ExecuteSqlRawAsync(sql));

    private sealed class Unsized(byte[] bytes) : MemoryStream(bytes)
    {
        public override bool CanSeek => false;
    }
}
