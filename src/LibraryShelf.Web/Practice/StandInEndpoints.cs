using System.Security.Cryptography;
using System.Text;
using System.Text.Json.Nodes;

namespace LibraryShelf.Web.Practice;

/// <summary>
/// The stand-in's programming interface, as Stripe documents its own (docs.stripe.com/api): form-encoded questions, JSON answers, the same key of a wish
/// gives the same answer for a day. It asks for a key that this start of the program made and nobody else knows.
/// </summary>
internal static class StandInEndpoints
{
    private const string Get = "GET", Post = "POST", Delete = "DELETE";

    private static readonly (string Method, string Path, Func<Ask, JsonObject> Answer)[] Doors =
    [
        (Get, "/prices", StandInAnswers.ListPrices),
        (Post, "/prices", StandInAnswers.MakePrice),
        (Post, "/checkout/sessions", StandInAnswers.OpenCheckout),
        (Get, "/checkout/sessions/{id}", StandInAnswers.ReadCheckout),
        (Post, "/billing_portal/sessions", StandInAnswers.OpenPortal),
        (Get, "/subscriptions", StandInAnswers.ListSubscriptions),
        (Get, "/subscriptions/{id}", StandInAnswers.ReadSubscription),
        (Post, "/subscriptions/{id}", StandInAnswers.ChangeSubscription),
        (Delete, "/subscriptions/{id}", StandInAnswers.EndSubscription),
        (Get, "/invoices", StandInAnswers.ListInvoices),
        (Get, "/invoices/{id}", StandInAnswers.ReadInvoice),
        (Get, "/invoice_payments", StandInAnswers.ListInvoicePayments),
        (Get, "/charges", StandInAnswers.ListCharges),
        (Get, "/charges/{id}", StandInAnswers.ReadCharge),
        (Get, "/refunds", StandInAnswers.ListRefunds),
        (Post, "/refunds", StandInAnswers.MakeRefund),
        (Get, "/disputes", StandInAnswers.ListDisputes),
        (Get, "/disputes/{id}", StandInAnswers.ReadDispute),
        (Get, "/customers/{id}/balance_transactions", StandInAnswers.ListBalance),
        (Post, "/customers/{id}", StandInAnswers.ChangeCustomer),
        (Post, "/customers/{id}/balance_transactions", StandInAnswers.ChangeBalance),
    ];

    /// <summary>Nothing at all without practice mode.</summary>
    public static void MapPractice(this WebApplication app)
    {
        if (app.Services.GetService<StandIn>() is null)
            return;
        var doors = app.MapGroup(PracticePlaces.Root + "/v1").DisableAntiforgery().AllowAnonymous();
        foreach (var (method, path, answer) in Doors)
        {
            doors.MapMethods(path, [method], (HttpRequest request, StandIn standIn, PracticeKeys keys, CancellationToken cancellationToken) =>
                AnswerAsync(request, standIn, keys, answer, cancellationToken));
        }
    }

    private static async Task<IResult> AnswerAsync(
        HttpRequest request, StandIn standIn, PracticeKeys keys, Func<Ask, JsonObject> answer, CancellationToken cancellationToken)
    {
        if (!keys.IsKey(request.Headers.Authorization))
            return Refuse(StatusCodes.Status401Unauthorized, "", "Invalid API Key provided.");
        var values = await ValuesAsync(request, cancellationToken);
        var id = request.RouteValues["id"] as string ?? "";
        try
        {
            var text = standIn.Do(billing => HttpMethods.IsPost(request.Method) && request.Headers["Idempotency-Key"] is [{ Length: > 0 } key]
                ? Once(key, Fingerprint(request.Path, values), new Ask(billing, id, values), answer)
                : answer(new Ask(billing, id, values)).ToJsonString());
            return Results.Text(text, "application/json");
        }
        catch (Refusal refusal)
        {
            return Refuse(refusal.Status, refusal.Code, refusal.Message);
        }
    }

    private static string Once(string key, string asked, Ask ask, Func<Ask, JsonObject> answer)
    {
        var answers = ask.Ledger.Answers;
        foreach (var old in answers.Where(a => a.Value.Created < ask.Billing.Now - Billing.Day).Select(a => a.Key).ToList())
            answers.Remove(old);
        if (!answers.TryGetValue(key, out var kept))
            answers[key] = kept = new KeptAnswer(asked, answer(ask).ToJsonString(), ask.Billing.Now);
        else if (kept.Asked != asked)
            throw new Refusal(400, "idempotency_error", "Keys for idempotent requests can only be used with the same parameters they were first used with.");
        return kept.Body;
    }

    private static string Fingerprint(string path, Dictionary<string, string> values) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(
        path + "\n" + string.Join('\n', values.OrderBy(v => v.Key, StringComparer.Ordinal).Select(v => $"{v.Key}={v.Value}")))));

    private static async Task<Dictionary<string, string>> ValuesAsync(HttpRequest request, CancellationToken cancellationToken)
    {
        var values = request.Query.ToDictionary(q => q.Key, q => q.Value.ToString(), StringComparer.Ordinal);
        if (request.HasFormContentType)
        {
            foreach (var field in await request.ReadFormAsync(cancellationToken))
                values[field.Key] = field.Value.ToString();
        }
        return values;
    }

    private static IResult Refuse(int status, string code, string words) => Results.Text(
        new JsonObject { ["error"] = new JsonObject { ["type"] = "invalid_request_error", ["code"] = code, ["message"] = words } }.ToJsonString(),
        "application/json", statusCode: status);
}
