using System.Globalization;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>
/// Answers whoever comes for bytes before their turn: a browser is led to the page that waits with them, a program is told when to ask again
/// (RFC 9110 §10.2.3 and §15.6.4).
/// </summary>
internal static class WaitingAnswer
{
    public static Task WriteAsync(HttpContext context, TurnOutcome.Waits waits)
    {
        var response = context.Response;
        response.Headers.CacheControl = "private, no-store";
        if (IsPerson(context.Request))
        {
            response.StatusCode = StatusCodes.Status303SeeOther;
            response.Headers.Location = context.Request.PathBase.ToUriComponent() + LinkTarget.Wait + LinkTarget.Of(context)[LinkTarget.Get.Length..];
            return Task.CompletedTask;
        }
        response.StatusCode = StatusCodes.Status503ServiceUnavailable;
        response.Headers.RetryAfter = waits.AskAgain.TotalSeconds.ToString("0", CultureInfo.InvariantCulture);
        response.ContentType = "text/plain; charset=utf-8";
        var place = waits.About is { } about ? T($"You are number {waits.Place} in the queue: {Spans.About(about)}.") : T($"You are number {waits.Place} in the queue.");
        var again = T($"Ask again in {waits.AskAgain.TotalSeconds:0} seconds; your place is kept for {DownloadTurns.PlaceKept.TotalMinutes:0} minutes.");
        return response.WriteAsync($"{T("Many people are downloading at this moment.")} {place} {again}\n", context.RequestAborted);
    }

    /// <summary>Who asks for a part resumes or fetches in parts, and could do nothing with a page.</summary>
    private static bool IsPerson(HttpRequest request) =>
        request.Headers.Range.Count == 0 && request.Headers.Accept.ToString().Contains("text/html", StringComparison.OrdinalIgnoreCase);
}
