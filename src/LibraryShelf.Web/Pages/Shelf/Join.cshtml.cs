using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Shelf.Boards;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.RateLimiting;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>What a membership is and costs, and the slip to join with. The payment page is the provider's.</summary>
[EnableRateLimiting(RateLimits.Doors)]
internal sealed class JoinModel(ReadJoin read, ReadShelf readShelf, ReadNextDrop readDrops, ShopView shops, StartJoining start, IPayments payments, PublicAddress address) : PageModel
{
    [BindProperty] public string? Email { get; set; }

    [BindProperty] public long Plan { get; set; }

    [BindProperty] public bool Agrees { get; set; }

    /// <summary>The words that stood beside the box: what was agreed to is what was read.</summary>
    [BindProperty] public string? ConsentWords { get; set; }

    public JoinPage Shown { get; private set; } = null!;

    public DropNews Drops { get; private set; } = DropNews.None;

    /// <summary>The newest boxes that are tied; null: none is.</summary>
    public Board? Tied { get; private set; }

    public JoinRefusal? Refused { get; private set; }

    public string? Unreachable { get; private set; }

    public bool IsPractice => payments.IsPractice;

    public bool IsOpen => payments.IsOpen && Shown.Plans.Count > 0;

    public async Task OnGetAsync(CancellationToken cancellationToken)
    {
        Shown = await read.RunAsync(cancellationToken);
        Drops = await readDrops.RunAsync(cancellationToken);
        var tied = (await readShelf.RunAsync(new ShelfWish(), cancellationToken)).NewestFirst.Where(b => b.Audience == Audience.Members).ToList();
        Tied = Board.Of(tied, (await shops.GetAsync(cancellationToken)).Zone, Drops.Next is not null) is [var newest, ..] ? newest : null;
        HttpContext.Items[SafetyHeaders.FormsMayLeadTo] = payments.PagesOrigin;
        if (Shown.Plans.Count > 0 && !Shown.Plans.Any(p => p.Id == Plan))
            Plan = Shown.Plans[0].Id;
    }

    public async Task<IActionResult> OnPostAsync(CancellationToken cancellationToken)
    {
        var wish = new JoinWish(Email, User.PersonId(), Plan, Agrees, ConsentWords ?? "");
        switch (await start.RunAsync(wish, address.ForPage(Request), cancellationToken))
        {
            case JoinOutcome.GoAndPay pay:
                JoiningCookie.Set(Response, pay.Token);
                Response.Headers.Location = pay.Page.AbsoluteUri;
                return StatusCode(StatusCodes.Status303SeeOther);
            case JoinOutcome.Refused refused:
                Refused = refused.Why;
                Response.StatusCode = StatusCodes.Status400BadRequest;
                break;
            case JoinOutcome.Unreachable unreachable:
                Unreachable = unreachable.Words;
                Response.StatusCode = StatusCodes.Status503ServiceUnavailable;
                break;
            default:
                throw new InvalidOperationException("One who joins goes to pay, is refused, or has to come again.");
        }
        await OnGetAsync(cancellationToken);
        return Page();
    }
}
