namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>The list of days a drop may have.</summary>
internal sealed record DropDayField(string Name, string? Value, string? Error)
{
    public string? Hint { get; init; }

    /// <summary>A further choice, before the others: "a date of its own".</summary>
    public (string Value, string Words)? Besides { get; init; }
}
