namespace LibraryShelf.Web.Setup.Demo.Recipes;

/// <summary>The whole of seed/: the shop, its invented members and its libraries.</summary>
internal sealed record ShopRecipe
{
    public required string Name { get; init; }
    public required string MakerLine { get; init; }
    public required string Contact { get; init; }
    public required string TimeZone { get; init; }
    public required string Currency { get; init; }
    public required string PostalAddress { get; init; }
    public required string MakerEmail { get; init; }
    public required string MakerPassword { get; init; }
    public required int OpenedDaysAgo { get; init; }
    public string Terms { get; init; } = "";
    public string Privacy { get; init; } = "";
    public string Licence { get; init; } = "";
    public string LicenceInShort { get; init; } = "";
    public IReadOnlyList<PlanRecipe> Plans { get; init; } = [];
    /// <summary>What people agree to when they join.</summary>
    public string ConsentWords { get; init; } = "";
    public string TermsVersion { get; init; } = "";
    public IReadOnlyList<MemberRecipe> Members { get; init; } = [];
    public IReadOnlyList<KeptCopy> KeptCopies { get; init; } = [];
    public IReadOnlyList<WithdrawnVersion> Withdrawn { get; init; } = [];
    public IReadOnlyList<ToldRecipe> Told { get; init; } = [];
    public IReadOnlyList<DropRecipe> Drops { get; init; } = [];
    public IReadOnlyList<LibraryRecipe> Libraries { get; init; } = [];
}

/// <summary>
/// A month's drop. Without <paramref name="MonthsAhead"/> it went out on the day its first version is said to have been published; with it, it is planned for the
/// shop's usual day so many months from now.
/// </summary>
internal sealed record DropRecipe(string Title, string Note, IReadOnlyList<DroppedVersion> Versions, int? MonthsAhead = null)
{
    public bool Has(string library, string number) => Versions.Any(v => v.Library == library && v.Number == number);
}

internal sealed record DroppedVersion(string Library, string Number);

/// <param name="Minor">In the currency's smallest unit.</param>
/// <param name="Months">1 or 12.</param>
internal sealed record PlanRecipe(long Minor, int Months);

internal sealed record MemberRecipe(string Email, int FromDaysAgo, int? UntilDaysAgo = null, string Note = "");

/// <summary>A version someone took while its library was free; it stays theirs, member or not.</summary>
internal sealed record KeptCopy(string Email, string Library, string Number, int DaysAgo);

/// <summary>A version the maker took back, with her reason.</summary>
internal sealed record WithdrawnVersion(string Library, string Number, int DaysAgo, string Because);

/// <summary>Something that sounded wrong to <paramref name="By"/>; null: to a visitor.</summary>
internal sealed record ToldRecipe(string Library, string Number, int DaysAgo, string Words, string? By = null, int? Key = null);
