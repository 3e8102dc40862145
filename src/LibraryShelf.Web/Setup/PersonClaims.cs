using System.Security.Claims;
using LibraryShelf.Core.Accounts;
using Microsoft.AspNetCore.Identity;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>Adds the maker's claim to her cookie.</summary>
internal sealed class PersonClaims(UserManager<Person> people, IOptions<IdentityOptions> options)
    : UserClaimsPrincipalFactory<Person>(people, options)
{
    protected override async Task<ClaimsIdentity> GenerateClaimsAsync(Person user)
    {
        var identity = await base.GenerateClaimsAsync(user);
        if (user.IsMaker)
            identity.AddClaim(new Claim(Policies.MakerClaim, "1"));
        return identity;
    }
}
