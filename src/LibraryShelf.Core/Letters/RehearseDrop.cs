using System.Globalization;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Letters;

public enum RehearseOutcome
{
    /// <summary>It stands in the outbox; wake the job that sends.</summary>
    MailOnItsWay,
    /// <summary>There is no such drop, or no version in it yet.</summary>
    NothingInIt,
    /// <summary>Whoever asked has no address.</summary>
    NoAddress,
}

/// <summary>Sends a drop's letter, as one member would get it, to the maker's own address.</summary>
public sealed class RehearseDrop(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <param name="dropId">Planned, or out already.</param>
    /// <param name="makerId">Who asks; her own downloads stand for a member's.</param>
    /// <param name="cancellationToken">Ends it with nothing written.</param>
    public async Task<RehearseOutcome> RunAsync(long dropId, long makerId, CancellationToken cancellationToken)
    {
        if (await People.FindAsync(db, makerId, cancellationToken) is not { IsMaker: true, Email: { } email })
            return RehearseOutcome.NoAddress;
        var desk = new LetterDesk(await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken), LetterDesk.AddressOf(settings.Value.PublicUrl));
        if (await PlannedLetter.WriteAsync(db, dropId, makerId, desk, cancellationToken) is not { } letter)
            return RehearseOutcome.NothingInIt;
        var now = clock.GetUtcNow();
        var text = LetterWords.WithWayOut(letter.Text, LetterKinds.Find(MailKind.Drop)!, desk.Address is { } address ? $"{address}/mine/letters" : null);
        db.Outbox.Add(new OutboxMail
        {
            // Each press is a mail of its own.
            Cause = string.Create(CultureInfo.InvariantCulture, $"rehearsal:{dropId}:{Secrets.NewKey()}"),
            PersonId = makerId, To = email, Subject = T($"Rehearsal: {letter.Subject}"), Text = text, CreatedAt = now,
        });
        await db.SaveChangesAsync(cancellationToken);
        return RehearseOutcome.MailOnItsWay;
    }
}
