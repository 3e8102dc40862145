using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Letters.Weekly;

/// <summary>Writes the maker one letter about the week that is over: the three things in its figures that say most. Once for each week, whoever asks and however often.</summary>
public sealed class WriteWeekLetter(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <returns>False: none is due.</returns>
    public async Task<bool> RunAsync(CancellationToken cancellationToken)
    {
        if (await DueWeek.FindAsync(db, clock.GetUtcNow(), settings.Value, cancellationToken) is not { } due)
            return false;
        // Read before the transaction: adding up takes a while, and others want to write.
        var facts = await new WeekReading(db, clock).OfAsync(due.Week, due.Zone, cancellationToken);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (await DueWeek.FindAsync(db, clock.GetUtcNow(), settings.Value, cancellationToken) != due)
            return false;
        var address = LetterDesk.AddressOf(settings.Value.PublicUrl);
        var desk = await MailDesk.OpenAsync(db, address, clock.GetUtcNow(), cancellationToken);
        var (subject, text) = WeekWords.Letter(facts, address);
        await desk.WriteAsync([new(due.Cause, "", subject, text + MailWords.Foot(desk.Shop)) { PersonId = due.MakerId }], cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return true;
    }
}
