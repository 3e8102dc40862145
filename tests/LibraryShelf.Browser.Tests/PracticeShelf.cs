namespace LibraryShelf.Browser.Tests;

/// <summary>A claimed shelf in practice mode: the stand-in on it plays the payment provider, and time can be let pass.</summary>
public sealed class PracticeShelf() : ClaimedShelf(["--Shelf:Payments:Practice=true"]);
