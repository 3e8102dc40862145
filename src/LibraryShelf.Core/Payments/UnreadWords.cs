namespace LibraryShelf.Core.Payments;

/// <summary>Names the provider's things that could not be read, by its own names, so that the maker finds them there.</summary>
internal static class UnreadWords
{
    private const int MostNamed = 3;

    /// <returns>"sub_1, sub_2 and sub_3", or with more "sub_1, sub_2, sub_3 and 4 more"; null: none.</returns>
    public static string? Of(IReadOnlyCollection<string> names)
    {
        if (names.Count <= 1)
            return names.FirstOrDefault();
        var named = names.Take(names.Count > MostNamed ? MostNamed : names.Count - 1);
        return names.Count > MostNamed ? T($"{string.Join(", ", named)} and {names.Count - MostNamed} more") : T($"{string.Join(", ", named)} and {names.Last()}");
    }
}
