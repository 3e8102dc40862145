namespace LibraryShelf.Web.Pages.Shared;

/// <summary>One labelled field of a form, drawn by _Field.cshtml with its hint and its error tied to it.</summary>
public sealed record Field(string Name, string Label, string? Value = "")
{
    public string Id => Name.Replace('.', '-');
    public string? Hint { get; init; }
    public string Type { get; init; } = "text";
    public string? Autocomplete { get; init; }
    public string? InputMode { get; init; }
    public string? Pattern { get; init; }
    public int? MaxLength { get; init; }
    /// <summary>More than 0: a field of that many lines.</summary>
    public int Rows { get; init; }
    public bool IsRequired { get; init; }
    /// <summary>Offered values; the field stays free text.</summary>
    public IReadOnlyList<string>? Offers { get; init; }
    /// <summary>The only allowed values.</summary>
    public IReadOnlyList<string>? Choices { get; init; }
    public string? Error { get; init; }

    public string? DescribedBy
    {
        get
        {
            string?[] ids = [Hint is null ? null : Id + "-hint", Error is null ? null : Id + "-error"];
            var said = string.Join(' ', ids.Where(id => id is not null));
            return said.Length == 0 ? null : said;
        }
    }
}

/// <summary>Why a form came back: a first line (what happened, what is kept), then one link a field.</summary>
public sealed record Problems(string What, IReadOnlyList<(string FieldId, string Words)> Fields);
