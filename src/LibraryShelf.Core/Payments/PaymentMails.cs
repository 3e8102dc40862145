using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Payments;

/// <summary>How the row stood before the provider was asked.</summary>
internal sealed record MembershipBefore(bool IsNew, bool WasLeaving);

/// <summary>
/// The mails that follow from how a membership stands: welcome, renewal not paid, goodbye. One per cause, so that looking again writes none twice; the
/// caller saves.
/// </summary>
internal sealed class PaymentMails(ShelfDb db, Shop? shop, string? shelfAddress, DateTimeOffset now)
{
    public async Task WriteAsync(
        PaidMembership membership, MembershipBefore before, ProviderMembership told, Joining? joining, CancellationToken cancellationToken)
    {
        var to = await db.Users.Where(p => p.Id == membership.PersonId).Select(p => p.Email).SingleAsync(cancellationToken) ?? "";
        if (before.IsNew && membership.EndedAt is null)
            await AddAsync($"joined:{membership.Id}", to, T($"You have joined {MailWords.ShopName(shop)}"), WelcomeWords(membership, joining, await AnotherAsync(membership, cancellationToken)), cancellationToken);
        if (told.UnpaidSince is { } since && membership.EndedAt is null)
            await AddAsync(
                $"unpaid:{membership.Id}:{since.ToUnixTimeSeconds()}", to, T("Your payment did not go through"), UnpaidWords(membership), cancellationToken);
        // One that had ended before this shelf knew it is the past of the provider's account: nobody waits for a mail about it.
        if (!before.WasLeaving && !(before.IsNew && joining is null && membership.EndedAt is not null) && (membership.LeavesAt ?? membership.EndedAt) is { } ends)
            await AddAsync($"left:{membership.Id}:{ends.ToUnixTimeSeconds()}", to, T("You have left"), GoodbyeWords(membership.EndedAt ?? membership.ActiveUntil, told.Payments.Any(p => p.TakenBackAt is null), told.UnpaidSince is not null && membership.EndedAt is null), cancellationToken);
    }

    /// <summary>Who joined signed out, being a member already, pays twice, and has to hear of it.</summary>
    private Task<bool> AnotherAsync(PaidMembership membership, CancellationToken cancellationToken) => db.PaidMemberships.AnyAsync(
        m => m.PersonId == membership.PersonId && m.Id != membership.Id && m.EndedAt == null && m.LeavesAt == null, cancellationToken);

    private async Task AddAsync(string cause, string to, string subject, string text, CancellationToken cancellationToken)
    {
        if (to.Length > 0 && !await db.Outbox.AnyAsync(m => m.Cause == cause, cancellationToken))
            db.Outbox.Add(new OutboxMail { Cause = cause, To = to, Subject = subject, Text = text + MailWords.Foot(shop), CreatedAt = now });
    }

    private string WelcomeWords(PaidMembership membership, Joining? joining, bool isAnother)
    {
        var another = !isAnother ? "" : "\n\n"
            + T("You were a member already, so that from now on two payments are taken. If you meant only one, leave this one by the link below, or the other one on your page.");
        var agreed = joining is null || joining.ConsentWords.Length == 0 ? ""
            : $"\n\n{T($"On {Day(joining.AgreedAt)} you agreed to this: “{joining.ConsentWords}”")}\n{(joining.TermsVersion.Length == 0 ? "" : T($"The terms were those of {joining.TermsVersion}."))}";
        return T($"""
            Thank you. All tied boxes are open for you while you are a member, and each month you pay for is yours for good, with every later version of
            its box, also after you leave.{another}

            {MailPlaces.SignIn(shelfAddress)}

            To leave, whenever you like, {LeaveLinkOf(membership)}{agreed}

            You get this mail because this address joined on {Day(membership.StartedAt)}.
            """);
    }

    private string CardWords => shelfAddress is null
        ? T("On your page on the shelf you can change the card. Once it is paid, it is as if it had never failed.")
        : T($"At {shelfAddress}/mine you can change the card. Once it is paid, it is as if it had never failed.");

    private string UnpaidWords(PaidMembership membership) => T($"""
        The payment for your next month did not go through. Nothing is lost: you are a member as before until {Day(membership.ActiveUntil)}, and it is tried again by itself.

        {CardWords}

        If you would rather leave: {LeaveLinkOf(membership)}
        """);

    private string GoodbyeWords(DateTimeOffset ends, bool hasPaid, bool isTried)
    {
        var end = (ends > now, isTried) switch
        {
            (true, true) => T($"Your membership ends on {Day(ends)}. Until then everything is open as before, and the payment that did not go through may be tried again; after that nothing more will be taken."),
            (true, false) => T($"Your membership ends on {Day(ends)}. Until then everything is open as before, and nothing more will be taken."),
            _ => T("Your membership has ended. Nothing more will be taken."),
        };
        var stays = (hasPaid, shelfAddress is null) switch
        {
            (true, true) => T("The months you paid for stay yours, with every later version of their boxes: sign in on the shelf with this address whenever you like."),
            (true, false) => T($"The months you paid for stay yours, with every later version of their boxes: sign in at {shelfAddress}/sign-in with this address whenever you like."),
            (false, true) => T("What you paid went back to you, so no month stays yours. What is free stays open: sign in on the shelf with this address whenever you like."),
            (false, false) => T($"What you paid went back to you, so no month stays yours. What is free stays open: sign in at {shelfAddress}/sign-in with this address whenever you like."),
        };
        return $"{end}\n\n{stays}";
    }

    private string LeaveLinkOf(PaidMembership membership) => LeaveLink.Make(db, membership.Id, shelfAddress, now);

    private string Day(DateTimeOffset instant) => DayWords.Day(instant, ReadShop.ZoneOf(shop?.TimeZone ?? ""));
}
