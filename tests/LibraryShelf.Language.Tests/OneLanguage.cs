namespace LibraryShelf.Language.Tests;

/// <summary>One program speaks one language, so its tests wait for each other.</summary>
[CollectionDefinition(AtATime, DisableParallelization = true)]
public sealed class OneLanguage
{
    public const string AtATime = "one language at a time";
}
