using System.Net.Http.Json;
using LibraryShelf.Web.Endpoints;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>One request at a door, without whoever sends it: their cookies, their token and their antiforgery proof come with them.</summary>
internal sealed record Knock(HttpMethod Method, string Url)
{
    /// <summary>A form's fields; null when it is no form.</summary>
    public IReadOnlyList<KeyValuePair<string, string>>? Fields { get; init; }

    /// <summary>Sent as JSON; null when there is none.</summary>
    public object? Json { get; init; }

    /// <summary>A zip in the form of the page that takes one.</summary>
    public byte[]? Zip { get; init; }

    /// <summary>Bytes and headers of a tus request.</summary>
    public (byte[] Bytes, (string Name, string Value)[] Headers)? Tus { get; init; }

    /// <summary>Other than by a status below 400: how this door answers who may.</summary>
    public int? Answers { get; init; }

    /// <summary>Who may knock here changes something: else there is nothing behind the knock, and that others are refused proves little.</summary>
    public bool MustChange => Method != HttpMethod.Get && Method != HttpMethod.Head && Method != HttpMethod.Options && Answers is null && !ChangesNothing;

    /// <summary>By its nature nothing of what the shelf remembers changes.</summary>
    public bool ChangesNothing { get; init; }

    /// <summary>The proof of who gets no token: their browser says that they pressed on a page of this site.</summary>
    public const string FromHere = "from here";

    /// <param name="proof">The antiforgery token, or <see cref="FromHere"/>; null: none.</param>
    public HttpRequestMessage With(string? proof)
    {
        var request = new HttpRequestMessage(Method, new Uri(Url, UriKind.RelativeOrAbsolute));
        if (proof == FromHere)
        {
            request.Headers.Add("Sec-Fetch-Site", "same-origin");
            proof = null;
        }
        if (Fields is not null)
            request.Content = new FormUrlEncodedContent([.. Fields.Where(f => f.Key != SenderGuard.Field), .. Field(proof)]);
        else if (Zip is not null)
            request.Content = ZipForm(proof);
        else if (proof is not null)
            request.Headers.Add(SenderGuard.Header, proof);
        if (Json is not null)
            request.Content = JsonContent.Create(Json);
        if (Tus is { } tus)
            AddTus(request, tus);
        return request;
    }

    private static IEnumerable<KeyValuePair<string, string>> Field(string? proof) => proof is null ? [] : [new(SenderGuard.Field, proof)];

    private MultipartFormDataContent ZipForm(string? proof)
    {
        var form = new MultipartFormDataContent();
        if (proof is not null)
            form.Add(new StringContent(proof), SenderGuard.Field);
        form.Add(new ByteArrayContent(Zip!), "zip", "kettle.zip");
        return form;
    }

    private static void AddTus(HttpRequestMessage request, (byte[] Bytes, (string Name, string Value)[] Headers) tus)
    {
        request.Headers.Add("Tus-Resumable", "1.0.0");
        foreach (var (name, value) in tus.Headers)
            request.Headers.Add(name, value);
        if (tus.Bytes.Length == 0)
            return;
        request.Content = new ByteArrayContent(tus.Bytes);
        request.Content.Headers.ContentType = new("application/offset+octet-stream");
    }
}
