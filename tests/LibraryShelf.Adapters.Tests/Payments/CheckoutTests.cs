using System.Net;
using System.Net.Http.Headers;
using LibraryShelf.Adapters.Payments;
using LibraryShelf.Core.Payments;

namespace LibraryShelf.Adapters.Tests.Payments;

/// <summary>What goes over the wire when a payment page is opened, by Stripe's own client. Names of fields: Stripe's API reference, "Create a Checkout Session".</summary>
public sealed class CheckoutTests
{
    [Theory]
    [InlineData(true, "cus_1", "true", "auto")]
    [InlineData(true, null, "true", null)]
    [InlineData(false, "cus_1", null, null)]
    public async Task Tax_is_worked_out_there_only_where_that_is_set(bool computes, string? customer, string? tax, string? address)
    {
        using var wire = new Wire();
        using var stripe = new StripePayments(new StripeAccess("sk_test_x", "whsec_x", null, IsPractice: false, computes), TimeProvider.System, wire);
        await stripe.OpenCheckoutAsync(new CheckoutWish(
            7, "price_1", "wren@post.example", customer, new Uri("https://shelf.example/join/done/t"), new Uri("https://shelf.example/join")), default);
        Assert.Equal(tax, wire.Sent.GetValueOrDefault("automatic_tax[enabled]"));
        Assert.Equal(address, wire.Sent.GetValueOrDefault("customer_update[address]"));
        Assert.Equal("7", wire.Sent["subscription_data[metadata][shelf_joining]"]);
    }

    private sealed class Wire : HttpMessageHandler
    {
        public Dictionary<string, string> Sent { get; } = new(StringComparer.Ordinal);

        protected override async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
        {
            foreach (var pair in (await request.Content!.ReadAsStringAsync(cancellationToken)).Split('&'))
            {
                var (name, value) = (pair[..pair.IndexOf('=')], pair[(pair.IndexOf('=') + 1)..]);
                Sent[WebUtility.UrlDecode(name)] = WebUtility.UrlDecode(value);
            }
            var content = new StringContent("""{"id":"cs_1","object":"checkout.session","status":"open","payment_status":"unpaid","url":"https://pay.example/cs_1"}""");
            content.Headers.ContentType = new MediaTypeHeaderValue("application/json");
            return new HttpResponseMessage(HttpStatusCode.OK) { Content = content };
        }
    }
}
