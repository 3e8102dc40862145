using System.Net;
using System.Net.Sockets;
using System.Text;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Tests.Downloads;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>Altered links over the wire, byte for byte: a client of ours would tidy them up before sending.</summary>
public sealed class LinkCampaignTests
{
    private const int Seed = 9110;

    /// <summary>Asks for the first ten bytes with this request target exactly.</summary>
    private static async Task<string> AskAsync(Uri address, string target, string host)
    {
        using var socket = new TcpClient();
        await socket.ConnectAsync(IPAddress.Loopback, address.Port);
        await using var stream = socket.GetStream();
        await stream.WriteAsync(Encoding.UTF8.GetBytes($"GET {target} HTTP/1.1\r\nHost: {host}\r\nRange: bytes=0-9\r\nConnection: close\r\n\r\n"));
        using var answer = new MemoryStream();
        try { await stream.CopyToAsync(answer); }
        catch (IOException) { /* the server closed on what is no request; what it said before is kept */ }
        return Encoding.Latin1.GetString(answer.ToArray());
    }

    private static bool HasBytes(string answer) =>
        answer.Contains("Content-Type: application/zip", StringComparison.OrdinalIgnoreCase) || answer.Contains("PK\u0003\u0004", StringComparison.Ordinal);

    [Fact]
    public async Task Of_thousands_of_altered_request_targets_none_gets_bytes()
    {
        const int count = 2_000;
        await using var shelf = await StockedHost.MakeAsync(5000);
        var links = new List<MakeLinkOutcome.Made>();
        foreach (var email in new[] { null, "wren@example.org", "robin@example.org" })
        {
            long? person = email is null ? null : (await shelf.Host.PersonAsync(email)).Id;
            links.Add(await shelf.LinkAsync(person));
            await shelf.Host.RunAsync<RotateLinkKey, int>(r => r.RunAsync(default));
            shelf.Clock.Advance(TimeSpan.FromSeconds(37));
        }
        var alterations = new LinkAlterations([.. links.Select(l => l.Path)], Seed);
        for (var i = 0; i < count; i++)
        {
            if (i == count / 2)
                Assert.All(links, l => Assert.Null(shelf.DownloadAsync(l.DownloadId).Result.StartedAt));
            var (kind, text) = alterations.Next();
            // No request target has space around it: that belongs to the request line, where servers bear more of it.
            if (links.Exists(l => l.Path == text.Trim())) continue;
            var answer = await AskAsync(shelf.Address, text, "shelf.example");
            Assert.False(HasBytes(answer), $"Accepted, number {i} of seed {Seed}, altered by “{kind}”:\n{text}\n\n{answer}");
            if (i > count / 2 && i % 50 == 0)
                Assert.True(HasBytes(await AskAsync(shelf.Address, links[i / 50 % links.Count].Path, "shelf.example")), "A genuine link was refused.");
        }
    }

    [Fact]
    public async Task The_full_form_of_a_request_target_opens_the_link_that_is_its_path_and_none_hidden_elsewhere()
    {
        await using var shelf = await StockedHost.MakeAsync(5000);
        var link = (await shelf.LinkAsync()).Path;
        // RFC 9112 §3.2.2: a server must take the absolute form.
        var answer = await AskAsync(shelf.Address, "http://shelf.example:8080" + link, "shelf.example:8080");
        Assert.True(HasBytes(answer), answer);
        foreach (var before in new[] { "/%67et/", "/%67et/junk?x=", "/get/junk?", "/get//", "/%67et/../x", "/get" })
            Assert.False(HasBytes(await AskAsync(shelf.Address, "http://shelf.example" + before + link, "shelf.example")), before);
    }
}
