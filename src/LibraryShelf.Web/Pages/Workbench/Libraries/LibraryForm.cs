using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Web.Pages.Workbench.Libraries;

/// <summary>A library's words as a form sends them; missing fields are empty.</summary>
public sealed class LibraryForm
{
    public string? Title { get; set; }
    public string? Slug { get; set; }
    public string? Sentence { get; set; }
    public string? Description { get; set; }
    public string? Sound { get; set; }
    /// <summary>The form asks the other way round, so that an unticked box is the usual case.</summary>
    public bool IsKit { get; set; }
    public Paint? Paint { get; set; }
    /// <summary>The mark of the words this form was filled from.</summary>
    public string? FilledFrom { get; set; }

    public static LibraryForm Of(Library library) => new()
    {
        Title = library.Title, Slug = library.Slug, Sentence = library.Sentence, Description = library.Description,
        Sound = library.Sound, IsKit = !library.IsPitched, Paint = library.Paint,
        FilledFrom = LibraryWords.Of(library).Mark(),
    };

    public LibraryWords ToWords() => new(Title ?? "", Sentence ?? "", Description ?? "", Sound ?? "", !IsKit, Paint) { FilledFrom = FilledFrom };
}
