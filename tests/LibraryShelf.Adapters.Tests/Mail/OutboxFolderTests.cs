using LibraryShelf.Adapters.Mail;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Adapters.Tests.Mail;

public sealed class OutboxFolderTests : IDisposable
{
    private readonly DataPaths _paths = new(Directory.CreateTempSubdirectory("outbox-").FullName);

    public void Dispose() => Directory.Delete(_paths.Root, recursive: true);

    [Fact]
    public async Task A_mail_comes_back_as_it_was_and_twice_is_one_file()
    {
        var mail = TestMail.To("wren@post.example");
        await new OutboxFolderMailer(_paths).SendAsync(mail, CancellationToken.None);
        await new OutboxFolderMailer(_paths).SendAsync(mail, CancellationToken.None);
        var folder = new OutboxFolder(_paths);
        var line = Assert.Single(await folder.ListAsync(CancellationToken.None));
        Assert.Equal((mail.Subject, "wren@post.example", mail.Date), (line.Subject, line.To, line.Date));
        var kept = (await folder.ReadAsync(line.FileName, CancellationToken.None))!;
        Assert.Equal(mail.Text, kept.Text.ReplaceLineEndings("\n"));
        Assert.Contains(kept.Headers, h => h is { Key: "Message-Id" } && h.Value == $"<{mail.MessageId}>");
        Assert.DoesNotContain(Directory.EnumerateFiles(_paths.Outbox), f => f.EndsWith(".part", StringComparison.Ordinal));
    }

    [Fact]
    public async Task Newest_stand_first_and_what_is_no_mail_is_left_out()
    {
        var mailer = new OutboxFolderMailer(_paths);
        var first = TestMail.To("wren@post.example");
        await mailer.SendAsync(first, CancellationToken.None);
        await mailer.SendAsync(first with { MessageId = "b@x", Date = first.Date.AddMilliseconds(1), Subject = "newer" }, CancellationToken.None);
        await File.WriteAllTextAsync(Path.Combine(_paths.Outbox, "notes.txt"), "no mail");
        var subjects = (await new OutboxFolder(_paths).ListAsync(CancellationToken.None)).Select(l => l.Subject);
        Assert.Equal(["newer", first.Subject], subjects);
    }

    [Fact]
    public async Task A_folder_that_can_not_be_written_puts_the_mail_off()
    {
        await File.WriteAllTextAsync(_paths.Outbox, "a file where the folder should be");
        var refused = await Assert.ThrowsAsync<MailRefusedException>(() =>
            new OutboxFolderMailer(_paths).SendAsync(TestMail.To("wren@post.example"), CancellationToken.None));
        Assert.False(refused.IsPermanent);
    }
}
