namespace LibraryShelf.Core.Shared;

/// <summary>
/// Why a verb did not take a value: the field it is about, by the name of the input's property ("" when it is about the whole),
/// and a sentence that says what is wrong and what to do. Nothing was changed.
/// </summary>
public sealed record Refusal(string Field, string Words);
