using System.Globalization;
using System.Net.Http.Headers;
using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>What a sender needs of a host: a token, a library with an open draft, and tus requests.</summary>
internal static class SendBench
{
    public const string Token = "a-token-for-tests-only";

    public static async Task<long> OpenDraftAsync(this ShelfHost host)
    {
        await host.ClaimAsync();
        return await host.AskDbAsync(async db =>
        {
            if (!await db.UploadTokens.AnyAsync())
                db.UploadTokens.Add(new UploadToken { Name = "tests", TokenHash = Hash(Encoding.UTF8.GetBytes(Token)), CreatedAt = DateTimeOffset.UnixEpoch });
            var library = new Library { Slug = "kettle", Title = "Kettle", CreatedAt = DateTimeOffset.UnixEpoch };
            library.Releases.Add(new Release { Number = "1.0.0", CreatedAt = DateTimeOffset.UnixEpoch });
            db.Libraries.Add(library);
            await db.SaveChangesAsync();
            return library.Releases[0].Id;
        });
    }

    /// <summary>A client that speaks with the upload token, as the command line does.</summary>
    public static HttpClient Sender(this ShelfHost host)
    {
        var client = host.Visitor();
        client.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", Token);
        return client;
    }

    public static HttpRequestMessage Tus(HttpMethod method, string url, params (string Name, string Value)[] headers)
    {
        var request = new HttpRequestMessage(method, new Uri(url, UriKind.RelativeOrAbsolute));
        request.Headers.Add("Tus-Resumable", "1.0.0");
        foreach (var (name, value) in headers)
            request.Headers.Add(name, value);
        return request;
    }

    public static HttpRequestMessage Patch(string url, long offset, byte[] bytes, params (string Name, string Value)[] headers)
    {
        var request = Tus(HttpMethod.Patch, url, [("Upload-Offset", offset.ToString(CultureInfo.InvariantCulture)), .. headers]);
        request.Content = new ByteArrayContent(bytes);
        request.Content.Headers.ContentType = new MediaTypeHeaderValue("application/offset+octet-stream");
        return request;
    }

    public static string Metadata(params (string Key, string Value)[] pairs) =>
        string.Join(',', pairs.Select(p => $"{p.Key} {Convert.ToBase64String(Encoding.UTF8.GetBytes(p.Value))}"));

    public static HttpRequestMessage Create(long release, string path, long length, params (string Key, string Value)[] more) =>
        Tus(HttpMethod.Post, "/uploads",
            ("Upload-Length", length.ToString(CultureInfo.InvariantCulture)),
            ("Upload-Metadata", Metadata([("release", release.ToString(CultureInfo.InvariantCulture)), ("path", path), .. more])));

    public static string? Header(this HttpResponseMessage answer, string name) =>
        answer.Headers.TryGetValues(name, out var values) ? string.Join(", ", values) : null;

    public static string Hash(byte[] bytes) => Convert.ToHexStringLower(SHA256.HashData(bytes));
}
