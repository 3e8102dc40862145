using System.Net;
using LibraryShelf.Web.Tests.Pages.Members;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class OutboxTests
{
    [Fact]
    public async Task Kept_mails_are_listed_and_read_with_their_link()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var mail = await host.AskAsync(host.Visitor(), "wren@post.example");
        var list = await maker.PageAsync("/workbench/outbox");
        Assert.Contains("because no mail server is set", list.QuerySelector("p.said")!.TextContent, StringComparison.Ordinal);
        var open = await maker.PageAsync(list.QuerySelector("table a")!.GetAttribute("href")!);
        Assert.Equal(mail.Subject, open.QuerySelector("h1")!.Words());
        Assert.EndsWith(mail.Link, open.QuerySelector("pre a")!.GetAttribute("href"), StringComparison.Ordinal);
        Assert.Contains("wren@post.example", open.QuerySelector("dl.facts")!.TextContent, StringComparison.Ordinal);
        // What was sent is not kept a second time in the database.
        Assert.Equal("", await host.AskDbAsync(db => db.Outbox.Select(m => m.Text).SingleAsync()));
    }

    [Theory]
    [InlineData("../shelf.db")]
    [InlineData("..%2Fshelf.db")]
    [InlineData("%2Fetc%2Fpasswd")]
    [InlineData("..%5Cshelf.eml")]
    [InlineData("shelf.db")]
    [InlineData("none.eml")]
    [InlineData("")]
    public async Task Only_bare_names_of_mails_are_read(string name)
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        await File.WriteAllTextAsync(Path.Combine(host.DataFolder, "shelf.eml"), "Subject: not an outbox mail\r\n\r\nsecret");
        using var answer = await maker.GetAsync(new Uri("/workbench/outbox?mail=" + name, UriKind.Relative));
        Assert.Equal(name.Length == 0 ? HttpStatusCode.OK : HttpStatusCode.NotFound, answer.StatusCode);
        Assert.DoesNotContain("secret", await answer.Content.ReadAsStringAsync(), StringComparison.Ordinal);
    }
}
