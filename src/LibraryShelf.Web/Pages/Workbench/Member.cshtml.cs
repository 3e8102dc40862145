using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>One person: how they stand, what they paid, what they may download and why. Ending and paying back take two presses.</summary>
internal sealed class MemberModel(ReadMember read, PublicAddress address, JobChain jobs, TimeProvider clock) : PageModel
{
    [BindProperty(SupportsGet = true)] public long Id { get; set; }

    /// <summary>Part of a box's title: what they may download of it alone.</summary>
    [BindProperty(SupportsGet = true)] public string? Box { get; set; }

    /// <summary>The first press: this payment is about to be paid back.</summary>
    [BindProperty(Name = "pay-back", SupportsGet = true)] public string? PayBack { get; set; }

    /// <summary>The first press: "given", "paid" (at the end of what is paid) or "now".</summary>
    [BindProperty(Name = "end", SupportsGet = true)] public string? AboutToEnd { get; set; }

    /// <summary>Which paid membership.</summary>
    [BindProperty(SupportsGet = true)] public long Membership { get; set; }

    /// <summary>A part of the payment, as typed; empty: all that is left.</summary>
    [BindProperty] public string? Part { get; set; }

    /// <summary>"whole" or "part"; null: not chosen yet.</summary>
    [BindProperty] public string? How { get; set; }

    /// <summary>This payment has just been paid back whole.</summary>
    [BindProperty(Name = "paid-back", SupportsGet = true)] public string? PaidBack { get; set; }

    public MemberView Member { get; private set; } = null!;

    public DateTimeOffset Now { get; } = clock.GetUtcNow();

    public string? PartError { get; private set; }

    /// <summary>Something that was given holds now, or begins later.</summary>
    public bool HasGiven => Member.Grants.Any(g => g.Until is not { } until || until > Now);

    public string Here => $"/workbench/members/{Id}";

    public MemberPays? Ending => Member.Paid.FirstOrDefault(p => p.Membership.Id == Membership && p.Membership.EndedAt is null);

    public Payment? PayingBack => Member.Paid.SelectMany(p => p.Payments).FirstOrDefault(p => p.Id == PayBack && MemberWords.LeftOf(p) > 0);

    /// <summary>What was just paid back was for this one, and it will be renewed all the same.</summary>
    public PaidMembership? GoesOn => Member.Paid.FirstOrDefault(p => p.Payments.Any(m => m.Id == PaidBack))?.Membership is { EndedAt: null, LeavesAt: null } it ? it : null;

    public async Task<IActionResult> OnGetAsync(CancellationToken cancellationToken)
    {
        switch (await read.RunAsync(Id, Box, cancellationToken))
        {
            case MemberOutcome.Found found:
                Member = found.Member;
                return Page();
            case MemberOutcome.MergedInto merged:
                return Redirect($"/workbench/members/{merged.PersonId}");
            default:
                return NotFound();
        }
    }

    public async Task<IActionResult> OnPostEndGivenAsync([FromServices] EndMembership end, CancellationToken cancellationToken)
    {
        if (await end.RunAsync(Id, cancellationToken) == EndOutcome.Ended)
            return Say("Said", T("The membership given has ended. What they took stays theirs, and a started download may be finished."));
        return Say("Warned", T("Nothing that was given holds now; nothing was changed."));
    }

    public async Task<IActionResult> OnPostEndPaidAsync(bool now, [FromServices] EndPaidMembership end, [FromServices] Shared.ShopView shops, CancellationToken cancellationToken)
    {
        var outcome = await end.RunAsync(Id, Membership, now, address.ForMail(Request), cancellationToken);
        jobs.MailSoon();
        return outcome switch
        {
            EndPaidOutcome.Ended when now => Say("Said", T("The membership has ended, and nothing more will be taken. Months they paid for stay theirs. A mail tells them.")),
            EndPaidOutcome.Ended ended => Say("Said", T($"Nothing more will be taken. It stays open until {Dates.Day(ended.Until, (await shops.GetAsync(cancellationToken)).Zone)}. A mail tells them.")),
            EndPaidOutcome.Unreachable away => Say("Warned", T($"It was not ended. {away.Words} Nothing was changed; press again in a minute.")),
            _ => Say("Warned", T("That membership does not go on; nothing was changed.")),
        };
    }

    public async Task<IActionResult> OnPostTryAgainAsync(long mail, [FromServices] TryMailAgain again, CancellationToken cancellationToken)
    {
        var outcome = await again.RunAsync(mail, cancellationToken);
        if (outcome == TryMailAgainOutcome.Waits)
            jobs.MailSoon();
        return Say(outcome is TryMailAgainOutcome.Waits or TryMailAgainOutcome.WaitsStopped ? "Said" : "Warned", MailText.TriedAgain(outcome));
    }

    /// <param name="payment">The provider's name for it.</param>
    /// <param name="already">How much had been paid back as the form showed it, in the smallest unit.</param>
    /// <param name="currency">As the form showed it, so that a part is read in its digits.</param>
    /// <param name="refund">The verb.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task<IActionResult> OnPostPayBackAsync(
        string? payment, long already, string? currency, [FromServices] RefundPayment refund, CancellationToken cancellationToken)
    {
        PayBack = payment;
        var part = How == "part" ? Money.Read(Part, currency ?? "") : null;
        if (WhyUnclear(part, currency) is { } problem)
            return await BackAsync(problem, cancellationToken);
        var outcome = await refund.RunAsync(Id, payment ?? "", part, already, address.ForMail(Request), cancellationToken);
        jobs.MailSoon();
        return outcome switch
        {
            RefundOutcome.PaidBack { IsWhole: true } whole => Say("Said", T($"{Money.Of(whole.Minor, whole.Currency)} are on their way back. {WhatFollows(whole)}"), QueryString.Create("paid-back", payment ?? "") + "#ask"),
            RefundOutcome.PaidBack back => Say("Said", T($"{Money.Of(back.Minor, back.Currency)} are on their way back. {WhatFollows(back)}")),
            RefundOutcome.TooMuch { Left: > 0 } much => await BackAsync(T($"Only {Money.Of(much.Left, much.Currency)} are left of it."), cancellationToken),
            RefundOutcome.TooMuch => Say("Warned", T("Nothing is left of that payment to pay back; nothing was changed.")),
            RefundOutcome.ChangedMeanwhile => Say("Warned", T("Something of that payment was paid back since you opened the page, perhaps by a doubled press. Nothing more went back now. Look at the payment before you press again.")),
            RefundOutcome.Unreachable away => Say("Warned", T($"It was not paid back. {away.Words} Look at the payment in a minute, and press again if nothing went back: the same press never pays twice.")),
            _ => Say("Warned", T("That payment is not theirs; nothing was changed.")),
        };
    }

    private static string WhatFollows(RefundOutcome.PaidBack back) => back switch
    {
        { IsLookedAt: false } => T("The payment provider could not be read afterwards, so this page shows it a little later, by itself."),
        { IsWhole: true } => T("What it paid for is taken back."),
        _ => T("What it paid for stays theirs."),
    };

    private async Task<IActionResult> BackAsync(string problem, CancellationToken cancellationToken)
    {
        PartError = problem;
        Response.StatusCode = StatusCodes.Status400BadRequest;
        return await OnGetAsync(cancellationToken);
    }

    /// <summary>Money goes back as it was meant, or not at all.</summary>
    private string? WhyUnclear(long? part, string? currency) => How switch
    {
        "part" => part is null ? T($"Write the sum in {currency}, such as 2 or 2.50.") : null,
        "whole" => string.IsNullOrWhiteSpace(Part) ? null : T("All that is left was chosen, and a part was typed too. Choose “A part”, or leave this empty."),
        _ => T("Choose how much: all that is left, or a part."),
    };

    private RedirectResult Say(string how, string words, string where = "")
    {
        TempData[how] = words;
        return Redirect(Here + where);
    }
}
