using Microsoft.AspNetCore.Identity;

namespace LibraryShelf.Core.Accounts;

/// <summary>Someone the shelf knows by e-mail address: the maker (with a password) or anyone who signs in by mail.</summary>
public sealed class Person : IdentityUser<long>
{
    public bool IsMaker { get; set; }
    public DateTimeOffset CreatedAt { get; set; }
    /// <summary>The last look at their page, to within a minute; null: none yet.</summary>
    public DateTimeOffset? VisitedAt { get; set; }
    /// <summary>The last look of the visit before the one that look belongs to: what came out since is new to them.</summary>
    public DateTimeOffset? VisitedBefore { get; set; }
    /// <summary>
    /// Another address of this person, who stands in that row: everything of theirs does, and signing in by this address signs in there. Never a
    /// row that is itself merged into another. Not a foreign key: SQLite would have to write the whole table anew for it.
    /// </summary>
    public long? MergedIntoId { get; set; }
    /// <summary>Deleted at their wish: the row has no address any more, and stands only because their payments have to.</summary>
    public DateTimeOffset? DeletedAt { get; set; }
}
