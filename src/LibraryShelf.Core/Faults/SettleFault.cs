using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Faults;

/// <summary>What the maker does with a told fault.</summary>
public enum FaultSettlement
{
    /// <summary>The release in work mends it; who told it hears so when that one is published.</summary>
    Mended,
    /// <summary>Nothing is to be mended; an answer goes to who told it.</summary>
    PutAway,
    /// <summary>As if it had not been settled.</summary>
    OpenAgain,
}

public enum SettleFaultOutcome
{
    Settled,
    /// <summary>Settled, and an answer is on its way: wake the mail job.</summary>
    Answered,
    /// <summary>It stood so already; nothing was changed.</summary>
    Unchanged,
    /// <summary>No release of the library is in work, so none can mend it; nothing was changed.</summary>
    NothingInWork,
    /// <summary>Who told it has been written that it is mended; nothing was changed.</summary>
    ToldAlready,
    /// <summary>The answer is longer than <see cref="SettleFault.MaxAnswerLength"/>; nothing was changed.</summary>
    TooLong,
    NoSuchFault,
}

/// <summary>Settles a told fault, or opens it again. It holds up nothing: sealing goes on with open ones.</summary>
public sealed class SettleFault(ShelfDb db, TimeProvider clock)
{
    /// <summary>Longest answer, letters.</summary>
    public const int MaxAnswerLength = 1000;

    /// <param name="faultId">Which.</param>
    /// <param name="settlement">What to do with it.</param>
    /// <param name="answer">For <see cref="FaultSettlement.PutAway"/>; empty: nobody is written to.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    public Task<SettleFaultOutcome> RunAsync(long faultId, FaultSettlement settlement, string? answer, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync(db, () => SettleAsync(faultId, settlement, answer?.Trim() ?? "", cancellationToken), FreshEyes.Never<SettleFaultOutcome>);

    private async Task<SettleFaultOutcome> SettleAsync(long faultId, FaultSettlement settlement, string answer, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var fault = await db.FaultReports.FirstOrDefaultAsync(f => f.Id == faultId, cancellationToken);
        if (fault is null)
            return SettleFaultOutcome.NoSuchFault;
        var outcome = settlement switch
        {
            FaultSettlement.Mended => await MendAsync(fault, cancellationToken),
            FaultSettlement.PutAway => await PutAwayAsync(fault, answer, cancellationToken),
            _ => OpenAgain(fault),
        };
        if (outcome is not (SettleFaultOutcome.Settled or SettleFaultOutcome.Answered))
            return outcome;
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return outcome;
    }

    private async Task<SettleFaultOutcome> MendAsync(FaultReport fault, CancellationToken cancellationToken)
    {
        if (fault.SettledAt is not null)
            return SettleFaultOutcome.Unchanged;
        var inWork = await db.Releases.Where(r => r.LibraryId == fault.LibraryId && r.SealedAt == null)
            .Select(r => (long?)r.Id).FirstOrDefaultAsync(cancellationToken);
        if (inWork is null)
            return SettleFaultOutcome.NothingInWork;
        (fault.SettledAt, fault.MendedInReleaseId) = (clock.GetUtcNow(), inWork);
        return SettleFaultOutcome.Settled;
    }

    private async Task<SettleFaultOutcome> PutAwayAsync(FaultReport fault, string answer, CancellationToken cancellationToken)
    {
        if (fault.SettledAt is not null)
            return SettleFaultOutcome.Unchanged;
        if (answer.Length > MaxAnswerLength)
            return SettleFaultOutcome.TooLong;
        var now = clock.GetUtcNow();
        (fault.SettledAt, fault.Answer) = (now, answer);
        var email = await db.Users.Where(p => p.Id == fault.PersonId).Select(p => p.Email).FirstOrDefaultAsync(cancellationToken);
        if (email is null || answer.Length == 0)
            return SettleFaultOutcome.Settled;
        var release = await db.Releases.AsNoTracking().Include(r => r.Library).FirstAsync(r => r.Id == fault.ReleaseId, cancellationToken);
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        var (subject, text) = FaultMail.Answered(fault, release, shop);
        fault.ToldAt = now;
        // Opened again and answered otherwise, it is another answer.
        db.Outbox.Add(new OutboxMail
        {
            Cause = $"answered:{fault.Id}:{now.ToUnixTimeMilliseconds()}", To = email, Subject = subject, Text = text, CreatedAt = now,
        });
        return SettleFaultOutcome.Answered;
    }

    private static SettleFaultOutcome OpenAgain(FaultReport fault)
    {
        if (fault.SettledAt is null)
            return SettleFaultOutcome.Unchanged;
        if (fault is { MendedInReleaseId: not null, ToldAt: not null })
            return SettleFaultOutcome.ToldAlready;
        (fault.SettledAt, fault.MendedInReleaseId, fault.Answer, fault.ToldAt) = (null, null, "", null);
        return SettleFaultOutcome.Settled;
    }
}
