namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>One thing the check found: a stable code, how much it matters, which file (null: the library), and what to do in a sentence.</summary>
public sealed record Finding(string Code, Severity Severity, string? Path, string Message);
