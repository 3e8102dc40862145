using System.Net;
using AngleSharp;
using AngleSharp.Dom;
using AngleSharp.Html.Dom;

namespace LibraryShelf.Web.Tests;

/// <summary>Reads pages and sends their forms as a browser without script does: every field of the form, token included.</summary>
public static class Forms
{
    /// <summary>Behind each letter of a text in the language of tests (Language.Tests).</summary>
    private const string Mark = "\u0301";

    /// <summary>Gets a page that must answer 200.</summary>
    public static async Task<IDocument> PageAsync(this HttpClient client, string url)
    {
        using var response = await client.GetAsync(new Uri(url, UriKind.Relative));
        var body = await response.Content.ReadAsStringAsync();
        Assert.True(response.StatusCode == HttpStatusCode.OK, $"GET {url}: {FaultsInAnswers.Describe(response)} {response.Headers.Location}\n{body}");
        return await ParseAsync(body, url);
    }

    /// <summary>
    /// Presses the button that reads <paramref name="button"/> on <paramref name="page"/>, with <paramref name="values"/> typed over what
    /// the form holds (a value of null unticks or empties).
    /// </summary>
    public static async Task<HttpResponseMessage> PressAsync(
        this HttpClient client, IDocument page, string button, params (string Name, string? Value)[] values)
    {
        var (address, fields) = page.Fill(button, values);
        using var request = new HttpRequestMessage(HttpMethod.Post, new Uri(address.PathAndQuery, UriKind.Relative)) { Content = new FormUrlEncodedContent(fields) };
        request.Headers.Add("Sec-Fetch-Site", "same-origin");
        return await client.SendAsync(request);
    }

    /// <summary>What pressing the button would send, and where to.</summary>
    public static (Uri Address, List<KeyValuePair<string, string>> Fields) Fill(
        this IDocument page, string button, params (string Name, string? Value)[] values)
    {
        var pressed = page.QuerySelectorAll("button, input[type=submit]").FirstOrDefault(b => Words(b) == button)
            ?? throw new InvalidOperationException($"No button “{button}” on {page.Url}:\n{page.Body?.TextContent}");
        Assert.False(pressed.HasAttribute("disabled"), $"The button “{button}” can't be pressed.");
        var form = pressed.Closest("form") as IHtmlFormElement ?? throw new InvalidOperationException($"“{button}” is in no form.");
        var fields = Fields(form);
        foreach (var (name, value) in values)
        {
            Assert.True(form.QuerySelector($"[name='{name}']") is not null, $"The form has no field “{name}”.");
            fields.RemoveAll(f => f.Key == name);
            if (value is not null)
                fields.Add(new(name, value));
        }
        if (pressed.GetAttribute("name") is { Length: > 0 } buttonName)
            fields.Add(new(buttonName, pressed.GetAttribute("value") ?? ""));
        var target = pressed.GetAttribute("formaction") ?? form.GetAttribute("action");
        return (new Uri(new Uri(page.Url), string.IsNullOrEmpty(target) ? page.Url : target), fields);
    }

    /// <summary>Presses a button whose form must lead on, and gets the page it leads to.</summary>
    public static async Task<IDocument> PressAndFollowAsync(
        this HttpClient client, IDocument page, string button, params (string Name, string? Value)[] values)
    {
        using var response = await client.PressAsync(page, button, values);
        Assert.True(response.Headers.Location is not null,
            $"“{button}” led nowhere: {FaultsInAnswers.Describe(response)}\n{await response.Content.ReadAsStringAsync()}");
        return await client.PageAsync(response.Headers.Location.IsAbsoluteUri ? response.Headers.Location.PathAndQuery : response.Headers.Location.OriginalString);
    }

    /// <summary>Presses a button whose form must come back, and gets the page it came back with.</summary>
    public static async Task<IDocument> PressAndStayAsync(
        this HttpClient client, IDocument page, string button, params (string Name, string? Value)[] values)
    {
        using var response = await client.PressAsync(page, button, values);
        Assert.Null(response.Headers.Location);
        return await ParseAsync(await response.Content.ReadAsStringAsync(), new Uri(page.Url).PathAndQuery);
    }

    /// <summary>An element's words with single spaces; in English, where the shelf speaks the language of tests.</summary>
    public static string Words(this IElement element) =>
        string.Join(' ', element.TextContent.Replace(Mark, "", StringComparison.Ordinal).Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));

    private static List<KeyValuePair<string, string>> Fields(IHtmlFormElement form)
    {
        var fields = new List<KeyValuePair<string, string>>();
        foreach (var element in form.Elements)
        {
            var name = element.GetAttribute("name");
            if (string.IsNullOrEmpty(name) || element.HasAttribute("disabled"))
                continue;
            var value = element switch
            {
                IHtmlInputElement { Type: "checkbox" or "radio", IsChecked: false } => null,
                IHtmlInputElement { Type: "submit" or "file" } => null,
                IHtmlInputElement input => input.Value,
                IHtmlTextAreaElement area => area.Value,
                IHtmlSelectElement select => select.Value,
                _ => null,
            };
            if (value is not null)
                fields.Add(new(name, value));
        }
        return fields;
    }

    private static async Task<IDocument> ParseAsync(string body, string path) =>
        await BrowsingContext.New().OpenAsync(r => r.Content(body).Address("http://localhost" + path));
}
