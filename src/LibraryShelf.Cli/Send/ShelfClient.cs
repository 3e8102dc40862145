using System.Net;
using System.Net.Http.Headers;
using System.Net.Http.Json;
using System.Text.Json;
using System.Text.Json.Serialization.Metadata;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Cli.Send;

/// <summary>Asks a shelf, tells refusals in the shelf's own words, and asks again a few times when the line or the shelf falters.</summary>
internal sealed class ShelfClient
{
    private static readonly ShelfJson Json = new(new JsonSerializerOptions(JsonSerializerDefaults.Web)
    {
        Converters = { new HyphenedWords<Severity>() },
    });

    private readonly HttpClient http;
    private readonly Patience patience;
    private readonly Uri shelf;

    public ShelfClient(HttpClient http, SendOrder order, Patience patience)
    {
        (this.http, this.patience, shelf) = (http, patience, order.Shelf);
        http.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", order.Token);
        http.DefaultRequestHeaders.UserAgent.ParseAdd("shelf-send/1");
    }

    public Task<DraftAnswer> StartDraftAsync(string library, string? number, CancellationToken cancellationToken) =>
        AskAsync<DraftAnswer>(HttpMethod.Post, $"api/libraries/{Uri.EscapeDataString(library)}/drafts", Body(new DraftQuestion(number), Json.DraftQuestion), Json.DraftAnswer, cancellationToken);

    public Task<PlanAnswer> PlanAsync(long draft, IReadOnlyList<PlanLine> files, CancellationToken cancellationToken) =>
        AskAsync<PlanAnswer>(HttpMethod.Post, $"api/drafts/{draft}/folder", Body(new FolderQuestion(files), Json.FolderQuestion), Json.PlanAnswer, cancellationToken);

    public Task<StandingAnswer> AskForCheckAsync(long draft, CancellationToken cancellationToken) =>
        AskAsync<StandingAnswer>(HttpMethod.Post, $"api/drafts/{draft}/check", null, Json.StandingAnswer, cancellationToken);

    /// <summary>Where the draft stands. While it is checked, the shelf is asked to wait a second for the end of that (RFC 7240 §4.3); it need not.</summary>
    public Task<StandingAnswer> ReadAsync(long draft, CancellationToken cancellationToken) =>
        AskAsync<StandingAnswer>(HttpMethod.Get, $"api/drafts/{draft}", null, Json.StandingAnswer, cancellationToken, prefer: "wait=1");

    /// <summary>An address on this shelf; one elsewhere is refused, because the token would go with it.</summary>
    public Uri At(string address) =>
        Uri.TryCreate(shelf, address, out var full) && full.GetLeftPart(UriPartial.Authority) == shelf.GetLeftPart(UriPartial.Authority)
            ? full
            : throw new CouldNotRunException($"the shelf points to another place ({address}); the token is not sent there.");

    /// <summary>Sends one request once. An answer that asks for a person's doing becomes a CouldNotRunException; others come back.</summary>
    public async Task<HttpResponseMessage> SendAsync(HttpRequestMessage request, CancellationToken cancellationToken)
    {
        var answer = await http.SendAsync(request, cancellationToken);
        if (answer.IsSuccessStatusCode || Patience.IsPassing(answer.StatusCode) || answer.StatusCode is HttpStatusCode.Conflict or HttpStatusCode.NotFound)
            return answer;
        using (answer)
            throw new CouldNotRunException(await WhyAsync(answer, cancellationToken));
    }

    public async Task<string> WhyAsync(HttpResponseMessage answer, CancellationToken cancellationToken)
    {
        if (answer.StatusCode is HttpStatusCode.Unauthorized or HttpStatusCode.Forbidden && answer.Content.Headers.ContentLength is null or 0)
            return $"the shelf does not know this upload token, or it was revoked. Make a new one at {shelf}workbench/tokens.";
        if ((int)answer.StatusCode is >= 300 and < 400)
            return $"the shelf is at another address: {answer.Headers.Location}. Give that one with --to.";
        try
        {
            var said = await answer.Content.ReadFromJsonAsync(Json.RefusalAnswer, cancellationToken);
            return said?.Message ?? Unclear(answer);
        }
        catch (Exception e) when (e is JsonException or InvalidOperationException or NotSupportedException)
        {
            return Unclear(answer);
        }
    }

    private string Unclear(HttpResponseMessage answer) =>
        $"{shelf} answered {(int)answer.StatusCode}, which is not a shelf's answer. Look at the address; what was sent is kept.";

    /// <summary>Made anew for every try: a request's content is spent with it.</summary>
    private static Func<HttpContent> Body<T>(T question, JsonTypeInfo<T> shape) => () => JsonContent.Create(question, shape);

    private Task<T> AskAsync<T>(HttpMethod method, string path, Func<HttpContent>? body, JsonTypeInfo<T> shape, CancellationToken cancellationToken, string? prefer = null) =>
        patience.TryAsync(async () =>
        {
            using var request = new HttpRequestMessage(method, new Uri(shelf, path));
            request.Content = body?.Invoke();
            if (prefer is not null)
                request.Headers.Add("Prefer", prefer);
            using var answer = await SendAsync(request, cancellationToken);
            if (Patience.IsPassing(answer.StatusCode))
                throw new PassingTroubleException(await WhyAsync(answer, cancellationToken));
            return answer.IsSuccessStatusCode
                ? await answer.Content.ReadFromJsonAsync(shape, cancellationToken) ?? throw new CouldNotRunException(Unclear(answer))
                : throw new CouldNotRunException(await WhyAsync(answer, cancellationToken));
        }, cancellationToken);
}
