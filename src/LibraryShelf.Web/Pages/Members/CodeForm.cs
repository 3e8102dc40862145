namespace LibraryShelf.Web.Pages.Members;

/// <summary>The form for a mailed code. <paramref name="Error"/>: why it came back; <paramref name="Code"/>: as it was typed, because most often one letter of it is wrong.</summary>
public sealed record CodeForm(string? Email, string? Return, string? Error, string? Code = "");
