using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Adapters.Mail;

/// <summary>Where no mail server is set: keeps each mail as an .eml file, readable at the workbench.</summary>
public sealed class OutboxFolderMailer(DataPaths paths) : IMailer
{
    public async Task SendAsync(MailToSend mail, CancellationToken cancellationToken)
    {
        var file = Path.Combine(paths.Outbox, FileName(mail));
        var part = file + ".part";
        try
        {
            Directory.CreateDirectory(paths.Outbox);
            using (var message = MimeMail.Of(mail))
                await message.WriteToAsync(part, cancellationToken);
            // Whole or not at all; the same mail tried twice is one file.
            File.Move(part, file, overwrite: true);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new MailRefusedException(T($"The outbox folder could not be written: {e.Message}"), isPermanent: false, e);
        }
    }

    /// <summary>By time, so that a plain listing is in order, then by Message-ID, of which only plain characters are taken.</summary>
    private static string FileName(MailToSend mail)
    {
        var id = string.Concat(mail.MessageId.Where(c => char.IsAsciiLetterOrDigit(c) || c is '-' or '.').Take(80)).Trim('.');
        return $"{mail.Date.UtcDateTime:yyyyMMdd'T'HHmmssfff}-{id}{OutboxFolder.Ending}";
    }
}
