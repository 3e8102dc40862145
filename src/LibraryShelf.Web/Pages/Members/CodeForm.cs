namespace LibraryShelf.Web.Pages.Members;

/// <summary>The form for a mailed code. <paramref name="Error"/>: why it came back.</summary>
public sealed record CodeForm(string? Email, string? Return, string? Error);
