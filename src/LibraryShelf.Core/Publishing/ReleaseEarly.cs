using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Publishing;

public abstract record ReleaseEarlyOutcome
{
    private ReleaseEarlyOutcome() { }

    /// <summary>They have it, and those it is new to are written to: wake the mail job. <paramref name="Added"/> counts these.</summary>
    public sealed record Opened(int Added) : ReleaseEarlyOutcome;

    /// <summary>Nothing was changed; the field is Addresses, Declares, or "" when it is about the release.</summary>
    public sealed record Refused(Refusal Refusal) : ReleaseEarlyOutcome;

    /// <summary>The release or its library kept changing at this very moment; nothing was changed.</summary>
    public sealed record ChangedMeanwhile : ReleaseEarlyOutcome;

    public sealed record NoSuchRelease : ReleaseEarlyOutcome;
}

/// <summary>
/// Gives a sealed version to chosen people before it is published, or to more of them. Someone the shelf does not know yet is added by the
/// address. Each gets one mail about it, however often they are added.
/// </summary>
public sealed class ReleaseEarly(ShelfDb db, TimeProvider clock)
{
    /// <summary>How many addresses are taken at a time.</summary>
    public const int Most = 200;

    private static readonly char[] Between = [' ', '\t', '\r', '\n', ',', ';'];

    /// <param name="releaseId">A sealed one, or one that chosen people have already.</param>
    /// <param name="addresses">As typed, apart by lines, spaces, commas or semicolons.</param>
    /// <param name="declares">The maker declares what <see cref="Declaration.Words"/> says.</param>
    /// <param name="shelfAddress">For the mails, without a slash at its end; null: they name no address.</param>
    /// <param name="cancellationToken">Ends it with nothing changed.</param>
    public Task<ReleaseEarlyOutcome> RunAsync(
        long releaseId, string? addresses, bool declares, string? shelfAddress, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<ReleaseEarlyOutcome>(
            db, () => OpenAsync(releaseId, addresses ?? "", declares, shelfAddress, cancellationToken), () => new ReleaseEarlyOutcome.ChangedMeanwhile());

    private async Task<ReleaseEarlyOutcome> OpenAsync(
        long releaseId, string addresses, bool declares, string? shelfAddress, CancellationToken cancellationToken)
    {
        var (emails, refusal) = Read(addresses);
        if (refusal is not null)
            return Refuse("Addresses", refusal);
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var release = await db.Releases.Include(r => r.Players).Include(r => r.Library).FirstOrDefaultAsync(r => r.Id == releaseId, cancellationToken);
        if (release is null)
            return new ReleaseEarlyOutcome.NoSuchRelease();
        if (release.State is not (ReleaseState.Sealed or ReleaseState.Early))
            return Refuse("", T($"Only a sealed version that has not been on the shelf can be given early, and {release.Number} is none."));
        var now = clock.GetUtcNow();
        if (declares)
            release.Library.Declare(now);
        if (await PublishGate.LookAsync(db, release, cancellationToken) is { } trouble)
            return trouble == GateTrouble.NotDeclared ? Refuse("Declares", Declaration.Missing) : Refuse("", PublishRelease.DamagedWords);

        release.MoveTo(ReleaseState.Early, now);
        release.PublishAfterSealFor = null;
        release.Trouble = null;
        var added = await AddAsync(release, emails, shelfAddress, now, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return new ReleaseEarlyOutcome.Opened(added);
    }

    private async Task<int> AddAsync(Release release, List<string> emails, string? shelfAddress, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var shop = await db.Shops.AsNoTracking().SingleOrDefaultAsync(cancellationToken);
        var guests = (await db.EarlyGuests.Where(g => g.ReleaseId == release.Id).Select(g => g.PersonId).ToListAsync(cancellationToken)).ToHashSet();
        var added = 0;
        foreach (var email in emails)
        {
            var person = await People.FindOrAddAsync(db, email, now, cancellationToken);
            if (!guests.Add(person.Id))
                continue;
            db.EarlyGuests.Add(new EarlyGuest { ReleaseId = release.Id, PersonId = person.Id, AddedAt = now });
            added++;
            var cause = $"early:{release.Id}:{person.Id}";
            if (await db.Outbox.AnyAsync(m => m.Cause == cause, cancellationToken))
                continue;
            var (subject, text) = EarlyMail.Write(release, shop, shelfAddress);
            db.Outbox.Add(new OutboxMail { Cause = cause, To = person.Email!, Subject = subject, Text = text, CreatedAt = now });
        }
        return added;
    }

    private static (List<string> Emails, string? Refusal) Read(string addresses)
    {
        var typed = addresses.Split(Between, StringSplitOptions.RemoveEmptyEntries).ToList();
        var wrong = typed.Find(t => EmailAddress.Tidy(t) is null);
        if (typed.Count == 0)
            return ([], T("Write the address of at least one person."));
        if (wrong is not null)
            return ([], T($"“{(wrong.Length > 60 ? ShortText.Of(wrong, 60) + "…" : wrong)}” is no e-mail address. Nobody was added yet."));
        if (typed.Count > Most)
            return ([], T($"At most {Most} people are added at a time. Nobody was added yet."));
        return ([.. typed.Select(t => EmailAddress.Tidy(t)!).DistinctBy(EmailAddress.Normalize)], null);
    }

    private static ReleaseEarlyOutcome.Refused Refuse(string field, string words) => new(new Refusal(field, words));
}
