using System.Net;
using LibraryShelf.Core.Mail;
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

    [Fact]
    public async Task What_was_given_up_is_tried_again_in_the_outbox_and_on_its_persons_page()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var person = await host.PersonAsync("dunlin@post.example");
        OutboxMail GivenUp(string cause, string subject, string text) => new()
        {
            Cause = cause, PersonId = person.Id, To = "dunlin@post.example", Subject = subject, Text = text, Attempts = 1, LastError = "550 no", CreatedAt = DateTimeOffset.UnixEpoch, GaveUpAt = DateTimeOffset.UnixEpoch,
        };
        await host.WithDbAsync(db =>
        {
            db.Outbox.AddRange(GivenUp("welcome:1", "Welcome", "Hello."), GivenUp("sign-in:1", "Sign in", ""));
            return db.SaveChangesAsync();
        });
        var page = await maker.PageAsync("/workbench/outbox");
        var table = page.GetElementById("given-up")!.ParentElement!.QuerySelectorAll("table")[0];
        Assert.Contains("its text is not kept", table.Words(), StringComparison.Ordinal);
        Assert.Single(table.QuerySelectorAll("button"));
        page = await maker.PressAndFollowAsync(page, "Try again: Welcome, to dunlin@post.example");
        Assert.Contains("It is in the outbox again", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Null(await host.AskDbAsync(db => db.Outbox.Where(m => m.Cause == "welcome:1").Select(m => m.GaveUpAt).SingleAsync()));

        await host.WithDbAsync(db =>
        {
            db.Outbox.Add(GivenUp("joined:1", "You joined", "Hello."));
            db.MailSuppressions.Add(new MailSuppression { NormalizedEmail = "DUNLIN@POST.EXAMPLE", Because = "550 5.1.1", At = DateTimeOffset.UnixEpoch });
            return db.SaveChangesAsync();
        });
        page = await maker.PressAndFollowAsync(await maker.PageAsync($"/workbench/members/{person.Id}"), "Try again: You joined");
        Assert.Contains("It was not put back: the mailbox refused for good.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.NotNull(await host.AskDbAsync(db => db.Outbox.Where(m => m.Cause == "joined:1").Select(m => m.GaveUpAt).SingleAsync()));
    }

    [Fact]
    public async Task A_shelf_that_signs_without_https_says_so_on_the_first_page_and_in_the_outbox()
    {
        await using var host = new ShelfHost { Settings = { ["Shelf:PublicUrl"] = "http://localhost", ["Shelf:Mail:DkimKeyFile"] = "/etc/none.pem", ["Shelf:Mail:DkimSelector"] = "s", ["Shelf:Mail:DkimDomain"] = "shelf.example" } };
        var maker = await host.MakerAsync();
        foreach (var path in new[] { "/workbench", "/workbench/outbox" })
            Assert.Contains("Shelf:PublicUrl is not https, so mail programs can’t stop letters with one click", (await maker.PageAsync(path)).Body!.Words(), StringComparison.Ordinal);
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
