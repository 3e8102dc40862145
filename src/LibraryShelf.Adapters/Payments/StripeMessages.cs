using System.Text;
using System.Text.Json;
using LibraryShelf.Core.Payments;
using Stripe;

namespace LibraryShelf.Adapters.Payments;

/// <summary>
/// Reads Stripe's messages by its documented scheme: header "t=…,v1=…", v1 = HMAC-SHA256 of "t.body" with the secret, at most 300 s old. The signature
/// is checked by Stripe's library, on the bytes as they came; of the content we take only what the message is about.
/// </summary>
internal sealed class StripeMessages(string secret, TimeProvider clock)
{
    private const long Tolerance = 300;

    private static readonly UTF8Encoding Strict = new(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true);

    public ProviderMessage Read(ReadOnlyMemory<byte> body, string? signature)
    {
        if (secret.Length == 0 || string.IsNullOrEmpty(signature))
            return new ProviderMessage.NotTheirs();
        string text;
        try
        {
            text = Strict.GetString(body.Span);
            EventUtility.ValidateSignature(text, signature, secret, Tolerance, clock.GetUtcNow().ToUnixTimeSeconds());
        }
        // The library meets a header without "t", with two, or with a "t" that is no number by faults of its own.
#pragma warning disable CA1031 // Whatever is wrong with a signature, the message is not believed.
        catch (Exception)
#pragma warning restore CA1031
        {
            return new ProviderMessage.NotTheirs();
        }
        try
        {
            using var json = JsonDocument.Parse(text);
            return Of(json.RootElement);
        }
        // Half a surrogate pair, escaped, is JSON and still no text.
        catch (Exception fault) when (fault is JsonException or InvalidOperationException)
        {
            return new ProviderMessage.Unreadable();
        }
    }

    private static ProviderMessage Of(JsonElement message)
    {
        if (Text(message, "id") is not { } id || Text(message, "type") is not { } kind || Text(message, "api_version") is null
            || !message.TryGetProperty("data", out var data) || data.ValueKind != JsonValueKind.Object
            || !data.TryGetProperty("object", out var about) || about.ValueKind != JsonValueKind.Object)
            return new ProviderMessage.Unreadable();
        return new ProviderMessage.LookAgain(id, kind, Subject(about));
    }

    private static MessageSubject? Subject(JsonElement about) => (Text(about, "object"), Text(about, "id"), Text(about, "charge")) switch
    {
        ("subscription", { } id, _) => new(SubjectKind.Membership, id),
        ("invoice", { } id, _) => new(SubjectKind.Invoice, id),
        ("charge", { } id, _) => new(SubjectKind.Charge, id),
        ("refund", _, { } charge) => new(SubjectKind.Charge, charge),
        ("dispute", { } id, _) => new(SubjectKind.Dispute, id),
        ("checkout.session", { } id, _) => new(SubjectKind.Checkout, id),
        _ => null,
    };

    /// <summary>Null also for what no name of the provider's is, and no database takes (PostgreSQL has no NUL in its texts).</summary>
    private static string? Text(JsonElement from, string name) =>
        from.ValueKind == JsonValueKind.Object && from.TryGetProperty(name, out var value) && value.ValueKind == JsonValueKind.String
            && value.GetString() is { Length: > 0 and < 256 } text && !text.Any(char.IsControl)
            ? text : null;
}
