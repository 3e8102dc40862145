using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Letters;

public enum BehindLetterOutcome
{
    /// <summary>Its mails are written and sent: wake the job that tells.</summary>
    Asked,
    /// <summary>It was asked for before; nobody is written to about one version twice. Nothing was changed.</summary>
    WrittenBefore,
    /// <summary>It is not the latest on the shelf (any more). Nothing was changed.</summary>
    NotTheLatest,
    /// <summary>More than <see cref="AskForBehindLetter.MostWords"/>. Nothing was changed.</summary>
    TooLong,
}

/// <summary>The maker has her letter sent to those who have an earlier version than the latest: once for each version.</summary>
public sealed class AskForBehindLetter(ShelfDb db, TimeProvider clock)
{
    /// <summary>UTF-16 units.</summary>
    public const int MostWords = 4_000;

    /// <param name="releaseId">The latest version of a box.</param>
    /// <param name="words">Hers, in Markdown; may be empty.</param>
    /// <param name="cancellationToken">Ends it with nothing written.</param>
    public async Task<BehindLetterOutcome> RunAsync(long releaseId, string words, CancellationToken cancellationToken)
    {
        if (words.Length > MostWords)
            return BehindLetterOutcome.TooLong;
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        if (await BehindReceivers.LatestAsync(db, releaseId, cancellationToken) is null)
            return BehindLetterOutcome.NotTheLatest;
        if (await db.BehindLetters.AnyAsync(l => l.ReleaseId == releaseId, cancellationToken))
            return BehindLetterOutcome.WrittenBefore;
        db.BehindLetters.Add(new BehindLetter { ReleaseId = releaseId, Words = words.Trim(), AskedAt = clock.GetUtcNow() });
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return BehindLetterOutcome.Asked;
    }
}
