using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Jobs;

namespace LibraryShelf.Web.Endpoints;

/// <summary>
/// Where the payment provider's messages come in. 200: kept. 400: not signed by the provider, too old, too long or not
/// a message. 503: could not be kept now; the provider sends it again. Nobody signs in here: the signature is the proof.
/// </summary>
internal static class PaymentEndpoints
{
    public const string Path = "/hooks/payments";

    /// <summary>Far above any message of the provider's.</summary>
    private const int MostBytes = 512 * 1024;

    public static void MapPayments(this IEndpointRouteBuilder routes) =>
        routes.MapPost(Path, TakeAsync).DisableAntiforgery().AllowAnonymous();

    private static async Task<IResult> TakeAsync(HttpRequest request, IPayments payments, MessageDesk desk, TimeProvider clock)
    {
        if (await ReadAsync(request) is not { } body)
            return Results.Text("This message is longer than any the payment provider sends. It was not read.", statusCode: StatusCodes.Status400BadRequest);
        var signature = request.Headers["Stripe-Signature"];
        switch (payments.ReadMessage(body, signature.Count == 1 ? signature[0] : null))
        {
            case ProviderMessage.NotTheirs:
                return Results.Text(
                    "The signature is not the payment provider’s, or the message is more than five minutes old. Nothing was done.", statusCode: StatusCodes.Status400BadRequest);
            case ProviderMessage.Unreadable:
                return Results.Text("This is no message as the payment provider documents them. Nothing was done.", statusCode: StatusCodes.Status400BadRequest);
            case ProviderMessage.LookAgain message:
                return await desk.KeepAsync(Row(message, clock.GetUtcNow()))
                    ? Results.Text("Kept.")
                    : Results.Text("The message could not be kept just now. Send it again.", statusCode: StatusCodes.Status503ServiceUnavailable);
            default:
                throw new InvalidOperationException("A message is believed or it is not.");
        }
    }

    /// <summary>A message that names nothing of ours is kept too, as done: it was theirs, it came, and nothing followed from it.</summary>
    private static PaymentEvent Row(ProviderMessage.LookAgain message, DateTimeOffset now) => new()
    {
        ProviderId = message.EventId, Kind = message.Kind, SubjectKind = message.Subject?.Kind, SubjectId = message.Subject?.Id, ReceivedAt = now,
        DoneAt = message.Subject is null ? now : null,
    };

    /// <returns>Null: longer than allowed; the rest is left unread.</returns>
    private static async Task<ReadOnlyMemory<byte>?> ReadAsync(HttpRequest request)
    {
        if (request.ContentLength > MostBytes)
            return null;
        using var body = new MemoryStream();
        var buffer = new byte[16 * 1024];
        int read;
        while ((read = await request.Body.ReadAsync(buffer, request.HttpContext.RequestAborted)) > 0)
        {
            if (body.Length + read > MostBytes)
                return null;
            body.Write(buffer, 0, read);
        }
        return body.ToArray();
    }
}
