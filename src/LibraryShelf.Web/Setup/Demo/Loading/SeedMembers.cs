using LibraryShelf.Core.Data;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Membership;
using LibraryShelf.Web.Setup.Demo.Recipes;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>Memberships given and ended by the maker's hand, each on its day, with the welcome mail of that day.</summary>
internal sealed class SeedMembers(Steps steps, SettableClock clock)
{
    public async Task RunAsync(ShopRecipe shop, Days days, CancellationToken cancellationToken)
    {
        foreach (var member in shop.Members.OrderByDescending(m => m.FromDaysAgo))
            await GrantAsync(member, days, cancellationToken);
        foreach (var member in shop.Members.Where(m => m.UntilDaysAgo is not null))
            await EndAsync(member, days, cancellationToken);
    }

    private async Task GrantAsync(MemberRecipe member, Days days, CancellationToken cancellationToken)
    {
        clock.Now = days.Ago(member.FromDaysAgo);
        var outcome = await steps.TakeAsync<GrantMembership, GrantOutcome>(
            v => v.RunAsync(member.Email, member.Note, lastDay: null, shelfAddress: null, cancellationToken));
        if (outcome != GrantOutcome.Granted)
            throw new InvalidOperationException($"The practice shop could not make {member.Email} a member: {outcome}");
        await steps.TakeAsync<SendOutbox, OutboxRound>(v => v.RunAsync(cancellationToken));
    }

    private async Task EndAsync(MemberRecipe member, Days days, CancellationToken cancellationToken)
    {
        clock.Now = days.Ago(member.UntilDaysAgo!.Value);
        var person = await steps.TakeAsync<ShelfDb, long>(
            db => db.Users.Where(p => p.Email == member.Email).Select(p => p.Id).SingleAsync(cancellationToken));
        var outcome = await steps.TakeAsync<EndMembership, EndOutcome>(v => v.RunAsync(person, cancellationToken));
        if (outcome != EndOutcome.Ended)
            throw new InvalidOperationException($"The practice shop could not end the membership of {member.Email}: {outcome}");
    }
}
