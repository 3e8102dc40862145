using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>RFC 8058 §3.1 asks for https; a shelf without it says so, and promises no one click.</summary>
public sealed class OneClickTests
{
    [Theory]
    [InlineData("https://shelf.example", "/etc/dkim.pem", null)]
    [InlineData("HTTPS://shelf.example/", "/etc/dkim.pem", null)]
    [InlineData("http://shelf.example", "", null)] // the mail server signs
    [InlineData("http://shelf.example", "/etc/dkim.pem", "is not https")]
    [InlineData("", "/etc/dkim.pem", "is not set")]
    public void What_stands_in_its_way_is_said(string publicUrl, string keyFile, string? words)
    {
        var said = OneClick.TroubleOf(new ShelfSettings { PublicUrl = publicUrl, Mail = new() { DkimKeyFile = keyFile } });
        Assert.Equal(words is null, said is null);
        Assert.Contains(words ?? "", said ?? "", StringComparison.Ordinal);
    }

    [Fact]
    public async Task Without_https_a_letter_names_the_page_and_promises_no_one_click()
    {
        await using var bench = await LetterBench.MakeAsync();
        bench.Settings.PublicUrl = "http://shelf.example";
        var wren = await bench.MemberAsync("wren@post.example");
        await bench.SentDropAsync([await bench.Bench.PublishedAsync("1.0.0")], wren);
        await bench.SendAsync();
        var key = await bench.Bench.WithAsync(db => db.Users.Where(p => p.Id == wren).Select(p => p.LetterKey).SingleAsync());
        Assert.Equal([("List-Unsubscribe", $"<http://shelf.example/letters/{key}/drop>")], bench.Mailer.Tried.Single(m => m.To == "wren@post.example").Headers.Select(h => (h.Key, h.Value)));
    }
}
