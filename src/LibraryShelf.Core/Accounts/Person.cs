using Microsoft.AspNetCore.Identity;

namespace LibraryShelf.Core.Accounts;

/// <summary>Someone the shelf knows by e-mail address: the maker (with a password) or anyone who signs in by mail.</summary>
public sealed class Person : IdentityUser<long>
{
    public bool IsMaker { get; set; }
    public DateTimeOffset CreatedAt { get; set; }
}
