using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Letters;

/// <summary>What pressing once more would do.</summary>
/// <param name="People">How many it would be written to now.</param>
/// <param name="Example">As one of them gets it; null: it would go to nobody.</param>
public sealed record BehindLook(int People, LetterShown? Example);

/// <summary>The letter to those left behind, before it is sent: to how many, and how it reads. Nothing is written.</summary>
public sealed class LookAtBehindLetter(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    private const int AtATime = 500;

    /// <param name="releaseId">The latest version of a box.</param>
    /// <param name="words">The maker's, in Markdown; may be empty.</param>
    /// <param name="cancellationToken">Ends it.</param>
    /// <returns>Null: it is not the latest on the shelf (any more).</returns>
    public async Task<BehindLook?> RunAsync(long releaseId, string words, CancellationToken cancellationToken)
    {
        if (await BehindReceivers.LatestAsync(db, releaseId, cancellationToken) is not { } release)
            return null;
        var receivers = new BehindReceivers(db, release, clock.GetUtcNow());
        var (people, first) = (0, ((long Person, string Has)?)null);
        foreach (var (lower, number) in await receivers.LowerAsync(cancellationToken))
        {
            for (long after = 0; ;)
            {
                var from = after;
                var some = await receivers.Wanting(lower).Where(p => p > from).Take(AtATime).ToListAsync(cancellationToken);
                if (some.Count == 0)
                    break;
                after = some[^1];
                var entitled = await receivers.EntitledAsync(some, number, cancellationToken);
                people += entitled.Count;
                if (entitled.Count > 0)
                    first ??= (entitled[0], number);
            }
        }
        return new(people, first is { } one ? await ExampleAsync(releaseId, one.Person, one.Has, words, cancellationToken) : null);
    }

    private async Task<LetterShown> ExampleAsync(long releaseId, long person, string has, string words, CancellationToken cancellationToken)
    {
        var desk = new LetterDesk(await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken), LetterDesk.AddressOf(settings.Value.PublicUrl));
        var one = (await LetterRelease.LoadAsync(db, [releaseId], person, cancellationToken))[0];
        var (subject, text) = VersionLetter.ToBehind(one, has, words, desk);
        text = LetterWords.WithWayOut(text, LetterKinds.Find(MailKind.NewVersion)!, desk.Address is { } address ? $"{address}/mine/letters" : null);
        return new(subject, text, MailHtml.Of(subject, text));
    }
}
