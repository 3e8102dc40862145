using System.Text;
using LibraryShelf.Adapters.Payments;
using LibraryShelf.Core.Payments;
using Microsoft.Extensions.Time.Testing;
using Stripe;

namespace LibraryShelf.Adapters.Tests.Payments;

public sealed class StripeMessagesTests
{
    private const string Secret = "webhook_secret";
    private const long Sent = 1533204620;

    /// <summary>stripe-dotnet (Apache-2.0), src/StripeTests/Resources/event_test_signature.json: 484 bytes.</summary>
    private const string Body = """
        {
          "id": "evt_123",
          "object": "event",
          "account": "acct_123",
          "api_version": "2017-05-25",
          "created": 1533204620,
          "data": {
            "object": {
              "id": "cus_123",
              "object": "customer",
              "created": 123456789,
              "email": "test@stripe.com",
              "livemode": false,
              "metadata": {}
            }
          },
          "livemode": false,
          "pending_webhooks": 1,
          "request": {
            "id": "req_123",
            "idempotency_key": "idempotency-key-123"
          },
          "type": "customer.created"
        }

        """;

    /// <summary>stripe-dotnet, src/StripeTests/Services/Events/EventUtilityTest.cs; recomputed by "openssl sha256 -hmac webhook_secret" over "1533204620." and the body.</summary>
    private const string V1 = "2220f87ef101a04665f11cdf770523143f875572008577fa0f20882ddb9cc3c7";

    private const string Other = "63f3a72374a733066c4be69ed7f8e5ac85c22c9f0a6a612ab9a025a9e4ee7eef";

    [Fact]
    public void The_documented_message_is_read()
    {
        Assert.Equal(484, Encoding.UTF8.GetByteCount(Body));
        var message = Assert.IsType<ProviderMessage.LookAgain>(Read(Body, $"t={Sent},v1={V1}"));
        Assert.Equal(("evt_123", "customer.created", null), (message.EventId, message.Kind, message.Subject));
    }

    /// <summary>HMAC-SHA256("test_secret", "1700000000.{}"), by openssl. The signature is right, the body is no message.</summary>
    [Fact]
    public void The_shortest_signed_body_is_theirs_and_no_message() =>
        Assert.IsType<ProviderMessage.Unreadable>(
            Read("{}", "t=1700000000,v1=c561c5814cba8a0cd366ee43292d205cf59c9635ad120894be1ef80c0af72b76", now: 1700000000, secret: "test_secret"));

    [Theory]
    [InlineData($"t=1533204620,v1={V1}")]
    [InlineData($"t=1533204620,v1={V1}", 300)]
    [InlineData($"t=1533204620,v1={V1}", -300)]
    [InlineData($"t=1533204620,v1={Other},v1={V1}")]
    [InlineData($"t=1533204620,v1={V1},v1={Other}")]
    [InlineData($"t=1533204620,v1={V1},v0={Other}")]
    [InlineData($"t=1533204620,v0={Other},v9=abc,v1={V1}")]
    public void What_the_scheme_accepts_is_accepted_by_both(string header, int late = 0)
    {
        Assert.IsType<ProviderMessage.LookAgain>(Read(Body, header, Sent + late));
        Assert.True(IsTheirs(Body, header, Sent + late));
    }

    [Theory]
    [InlineData($"t=1533204620,v1={V1}", 301)]
    [InlineData($"t=1533204620,v1={V1}", -301)]
    [InlineData($"t=1533204620,v0={V1}")]
    [InlineData($"v1={V1}")]
    [InlineData("t=1533204620")]
    [InlineData("t=1533204620,v1=")]
    [InlineData($"t=,v1={V1}")]
    [InlineData($"t=soon,v1={V1}")]
    [InlineData($"t=1533204621,v1={V1}")]
    [InlineData($"t=99999999999999999999,v1={V1}")]
    [InlineData($"t=1533204620,v1={Other}")]
    [InlineData($"t=1533204620,v1={Other},v1={Other}")]
    [InlineData("t=1533204620,v1=é")]
    [InlineData(",,,===")]
    [InlineData("no header at all")]
    [InlineData("")]
    [InlineData(null)]
    public void What_the_scheme_rejects_is_rejected_by_both(string? header, int late = 0)
    {
        Assert.IsType<ProviderMessage.NotTheirs>(Read(Body, header, Sent + late));
        Assert.False(IsTheirs(Body, header, Sent + late));
    }

    [Fact]
    public void One_byte_of_the_body_changed_anywhere_is_rejected()
    {
        var bytes = Encoding.UTF8.GetBytes(Body);
        for (var at = 0; at < bytes.Length; at++)
        {
            var changed = (byte[])bytes.Clone();
            changed[at] ^= 0x20;
            Assert.IsType<ProviderMessage.NotTheirs>(Messages(Secret, Sent).Read(changed, $"t={Sent},v1={V1}"));
        }
        Assert.IsType<ProviderMessage.NotTheirs>(Read(Body.TrimEnd(), $"t={Sent},v1={V1}"));
        Assert.IsType<ProviderMessage.NotTheirs>(Messages(Secret, Sent).Read(new byte[] { 0xEF, 0xBB, 0xBF }.Concat(bytes).ToArray(), $"t={Sent},v1={V1}"));
        Assert.IsType<ProviderMessage.NotTheirs>(Messages(Secret, Sent).Read(new byte[] { 0xC3, 0x28 }, $"t={Sent},v1={V1}"));
    }

    [Fact]
    public void Without_a_secret_nothing_is_believed() =>
        Assert.IsType<ProviderMessage.NotTheirs>(Read("{}", Signed("{}", ""), secret: ""));

    [Theory]
    [InlineData("subscription", "sub_1", SubjectKind.Membership, "sub_1")]
    [InlineData("invoice", "in_1", SubjectKind.Invoice, "in_1")]
    [InlineData("charge", "ch_1", SubjectKind.Charge, "ch_1")]
    [InlineData("refund", "re_1", SubjectKind.Charge, "ch_9")]
    [InlineData("dispute", "dp_1", SubjectKind.Dispute, "dp_1")]
    [InlineData("checkout.session", "cs_1", SubjectKind.Checkout, "cs_1")]
    public void A_message_signed_by_their_library_says_where_to_look(string thing, string id, SubjectKind kind, string subject)
    {
        var body = Message($$"""{"object":"{{thing}}","id":"{{id}}","charge":"ch_9"}""");
        var message = Assert.IsType<ProviderMessage.LookAgain>(Read(body, Signed(body)));
        Assert.Equal(new MessageSubject(kind, subject), message.Subject);
    }

    [Theory]
    [InlineData("""{"object":"kettle","id":"ke_1"}""")]
    [InlineData("""{"object":"subscription"}""")]
    [InlineData("""{"object":"refund","id":"re_1","charge":null}""")]
    [InlineData("""{"object":"invoice","id":7}""")]
    [InlineData("""{"object":"invoice","id":"in_\u0000"}""")]
    [InlineData("{}")]
    public void A_message_about_nothing_of_ours_says_so(string thing)
    {
        var body = Message(thing);
        Assert.Null(Assert.IsType<ProviderMessage.LookAgain>(Read(body, Signed(body))).Subject);
    }

    [Theory]
    [InlineData("")]
    [InlineData("hello")]
    [InlineData("[]")]
    [InlineData("null")]
    [InlineData("\"text\"")]
    [InlineData("""{"id":"evt_1","type":"invoice.paid","data":{"object":{}}}""")] // no api_version
    [InlineData("""{"id":"evt_1","type":"invoice.paid","api_version":null,"data":{"object":{}}}""")]
    [InlineData("""{"id":"evt_1","type":"invoice.paid","api_version":"","data":{"object":{}}}""")]
    [InlineData("""{"id":"evt_1","api_version":"2017-05-25","data":{"object":{}}}""")]
    [InlineData("""{"type":"a","api_version":"2017-05-25","data":{"object":{}}}""")]
    [InlineData("""{"id":7,"type":"a","api_version":"2017-05-25","data":{"object":{}}}""")]
    [InlineData("""{"id":"evt_1","type":"a","api_version":"2017-05-25"}""")]
    [InlineData("""{"id":"evt_1","type":"a","api_version":"2017-05-25","data":[]}""")]
    [InlineData("""{"id":"evt_1","type":"a","api_version":"2017-05-25","data":{"object":"in_1"}}""")]
    [InlineData("""{"id":"evt_\ud800","type":"a","api_version":"2017-05-25","data":{"object":{}}}""")]
    [InlineData("""{"id":"evt_\u0000","type":"a","api_version":"2017-05-25","data":{"object":{}}}""")]
    [InlineData("""{"id":"evt_1","type":"a","api_version":"2017-05-25","data":{"object":{}}""")]
    public void Signed_but_not_a_message_is_unreadable(string body) => Assert.IsType<ProviderMessage.Unreadable>(Read(body, Signed(body)));

    private static string Message(string thing) =>
        $$$"""{"id":"evt_1","type":"thing.changed","api_version":"2017-05-25","data":{"object":{{{thing}}} }}""";

    private static ProviderMessage Read(string body, string? header, long now = Sent, string secret = Secret) =>
        Messages(secret, now).Read(Encoding.UTF8.GetBytes(body), header);

    private static StripeMessages Messages(string secret, long now) => new(secret, new FakeTimeProvider(DateTimeOffset.FromUnixTimeSeconds(now)));

    private static string Signed(string body, string secret = Secret) => EventUtility.GenerateSignatureHeader(body, secret, Sent);

    /// <summary>What their library alone says; it meets some malformed headers by faults, which is a no too.</summary>
    private static bool IsTheirs(string body, string? header, long now)
    {
        try
        {
            EventUtility.ValidateSignature(body, header, Secret, 300, now);
            return true;
        }
#pragma warning disable CA1031 // Any fault is a no.
        catch (Exception)
#pragma warning restore CA1031
        {
            return false;
        }
    }
}
