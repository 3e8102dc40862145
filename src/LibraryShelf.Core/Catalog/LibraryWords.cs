using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Catalog;

/// <summary>What the maker types about a library. Field names are those of refusals.</summary>
public sealed record LibraryWords(
    string Title, string Sentence = "", string Description = "", string Sound = "", bool IsPitched = true, Paint? Paint = null)
{
    /// <summary>
    /// The <see cref="Mark"/> of the words the form was filled from, so that two forms don't overwrite each other unseen; null: they are
    /// written over whatever stands. The library's revision would not do: it also moves on with each release and decision.
    /// </summary>
    public string? FilledFrom { get; init; }

    public const int MaxTitle = 80;
    public const int MaxSentence = 300;
    public const int MaxDescription = 20_000;
    public const int MaxSound = 30;

    /// <summary>The same words without spaces at their ends.</summary>
    public LibraryWords Tidied() => this with
    {
        Title = Tidy(Title), Sentence = Tidy(Sentence), Description = Tidy(Description), Sound = Tidy(Sound),
    };

    /// <summary>The words as they stand.</summary>
    public static LibraryWords Of(Library library) =>
        new(library.Title, library.Sentence, library.Description, library.Sound, library.IsPitched, library.Paint);

    /// <summary>Short, and another one for other (tidied) words.</summary>
    public string Mark() => WordsMark.Of([Title, Sentence, Description, Sound, IsPitched ? "pitched" : "kit", Paint?.ToString() ?? ""]);

    /// <summary>Everything wrong with these (tidied) words; empty when nothing is.</summary>
    public List<Refusal> Refusals()
    {
        var refusals = new List<Refusal>();
        if (Title.Length == 0)
            refusals.Add(new(nameof(Title), T("Give the library a title: it is the name on its box and the folder people unpack.")));
        else if (Title.Any(char.IsControl))
            refusals.Add(new(nameof(Title), T("The title holds a character that can’t be shown. Type it again by hand.")));
        TooLong(refusals, nameof(Title), Title, MaxTitle);
        TooLong(refusals, nameof(Sentence), Sentence, MaxSentence);
        TooLong(refusals, nameof(Description), Description, MaxDescription);
        TooLong(refusals, nameof(Sound), Sound, MaxSound);
        if (Paint is { } paint && !Enum.IsDefined(paint))
            refusals.Add(new(nameof(Paint), T("Choose one of the paints in the list.")));
        return refusals;
    }

    private static string Tidy(string? text) => text?.ReplaceLineEndings("\n").Trim() ?? "";

    private static void TooLong(List<Refusal> refusals, string field, string text, int max)
    {
        if (text.Length > max)
            refusals.Add(new(field, field switch
            {
                nameof(Title) => T($"The title has {text.Length} characters; {max} is the most. Shorten it by {text.Length - max}."),
                nameof(Sentence) => T($"The sentence has {text.Length} characters; {max} is the most. Shorten it by {text.Length - max}."),
                nameof(Description) => T($"The description has {text.Length} characters; {max} is the most. Shorten it by {text.Length - max}."),
                _ => T($"The sound has {text.Length} characters; {max} is the most. Shorten it by {text.Length - max}."),
            }));
    }
}
