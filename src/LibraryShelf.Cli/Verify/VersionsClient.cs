using System.Net;
using System.Text.Json;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Verify;

/// <summary>Fetches a box's versions. Sends nothing of the folder. CouldNotRunException says why when there is nothing to hold it against.</summary>
internal static class VersionsClient
{
    /// <summary>Bytes unpacked; 400,000 files have about fifty million.</summary>
    private const int MostBytes = 128 << 20;

    /// <summary>From the address of a box's page, of its page "Which version do I have?", or of the table itself.</summary>
    public static Uri AddressOf(string given)
    {
        if (!Uri.TryCreate(given, UriKind.Absolute, out var uri) || uri.Scheme is not ("http" or "https"))
            throw new CouldNotRunException($"\"{given}\" is not an address of a box. Give it as in the browser: https://…/boxes/….");
        var path = uri.GetLeftPart(UriPartial.Path).TrimEnd('/');
        if (path.EndsWith("/versions.json", StringComparison.Ordinal))
            return new Uri(path);
        const string page = "/which-version";
        return new Uri((path.EndsWith(page, StringComparison.Ordinal) ? path[..^page.Length] : path) + "/versions.json");
    }

    public static async Task<VersionsAnswer> ReadAsync(Uri address, CancellationToken cancellationToken)
    {
        using var handler = new SocketsHttpHandler { AutomaticDecompression = DecompressionMethods.All, ConnectTimeout = TimeSpan.FromSeconds(15), MaxAutomaticRedirections = 5 };
        using var http = new HttpClient(handler) { Timeout = TimeSpan.FromMinutes(2), MaxResponseContentBufferSize = MostBytes };
        try
        {
            using var answer = await http.GetAsync(address, cancellationToken);
            if (answer.StatusCode == HttpStatusCode.NotFound)
                throw new CouldNotRunException($"there is no such box at {address}. Copy the address of the box's page from the browser.");
            if (!answer.IsSuccessStatusCode)
                throw new CouldNotRunException($"{address} answered {(int)answer.StatusCode}. Nothing was changed; try again later.");
            var table = JsonSerializer.Deserialize(await answer.Content.ReadAsByteArrayAsync(cancellationToken), VersionsJson.Default.VersionsAnswer);
            return table is { IsSound: true } ? table : throw NotAShelf(address);
        }
        catch (JsonException e)
        {
            throw NotAShelf(address, e);
        }
        catch (OperationCanceledException e) when (!cancellationToken.IsCancellationRequested)
        {
            throw new CouldNotRunException($"{address.Host} did not answer in time. Nothing was changed; try again later.", e);
        }
        catch (HttpRequestException e)
        {
            throw new CouldNotRunException($"{address.Host} can't be reached, or its answer can't be read ({e.Message}). Look at the connection and the address.", e);
        }
    }

    private static CouldNotRunException NotAShelf(Uri address, Exception? why = null) =>
        new($"{address} is not a shelf's list of versions. Copy the address of the box's page from the browser.", why!);
}
