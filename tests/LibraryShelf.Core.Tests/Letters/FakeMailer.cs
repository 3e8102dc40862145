using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>Answers each mail as told and remembers what it was given.</summary>
internal sealed class FakeMailer : IMailer
{
    private readonly Lock _lock = new();

    public Func<MailToSend, MailRefusedException?> Answer { get; set; } = _ => null;

    public List<MailToSend> Tried { get; } = [];

    public Task SendAsync(MailToSend mail, CancellationToken cancellationToken)
    {
        lock (_lock)
            Tried.Add(mail);
        return Answer(mail) is { } refused ? Task.FromException(refused) : Task.CompletedTask;
    }
}
