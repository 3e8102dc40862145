namespace LibraryShelf.Packaging.Comparisons;

/// <summary>Why a number moves so far, in a sentence.</summary>
internal sealed record Reason(Bump Bump, string Words);
