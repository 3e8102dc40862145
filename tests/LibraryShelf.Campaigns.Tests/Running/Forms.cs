using System.Net;
using System.Text.RegularExpressions;

namespace LibraryShelf.Campaigns.Tests.Running;

/// <summary>Pages and their buttons, as a browser without script uses them.</summary>
internal sealed partial class Forms(HttpClient browser)
{
    public Task<string> PageAsync(string page) => browser.GetStringAsync(new Uri(page, UriKind.Relative));

    /// <summary>Gets the page and presses the form's button whose handler is so named; the answer must be a redirect.</summary>
    public async Task<Uri> PressAsync(string page, string handler, params (string Name, string Value)[] values)
    {
        using var answer = await TryPressAsync(page, handler, values);
        return answer.StatusCode is HttpStatusCode.Redirect or HttpStatusCode.SeeOther
            ? answer.Headers.Location!
            : throw new InvalidOperationException($"{page} {handler} answered {(int)answer.StatusCode}:\n{await answer.Content.ReadAsStringAsync()}");
    }

    public async Task<HttpResponseMessage> TryPressAsync(string page, string handler, params (string Name, string Value)[] values)
    {
        var fields = values.ToDictionary(v => v.Name, v => v.Value, StringComparer.Ordinal);
        fields["__RequestVerificationToken"] = await TokenAsync(page);
        using var press = new HttpRequestMessage(HttpMethod.Post, handler.Length == 0 ? page : $"{page}?handler={handler}") { Content = new FormUrlEncodedContent(fields) };
        press.Headers.Add("Sec-Fetch-Site", "same-origin");
        return await browser.SendAsync(press);
    }

    public async Task<string> TokenAsync(string page) => WebUtility.HtmlDecode(FormToken().Match(await PageAsync(page)).Groups[1].Value);

    [GeneratedRegex("""name="__RequestVerificationToken"[^>]*value="([^"]+)""", RegexOptions.NonBacktracking)]
    private static partial Regex FormToken();
}
