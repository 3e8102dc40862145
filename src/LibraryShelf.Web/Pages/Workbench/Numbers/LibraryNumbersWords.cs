using System.Globalization;
using System.Text;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>The figures of the boxes in sentences; only what is known.</summary>
internal static class LibraryNumbersWords
{
    public static string Said(LibraryNumbers numbers)
    {
        var text = new StringBuilder();
        if (numbers.Boxes.MaxBy(b => b.Wanted) is { Wanted: > 0 } wanted)
            text.Append(CultureInfo.InvariantCulture, $"Most wanted: {wanted.Title}, finished {Times(wanted.Wanted)} whole.");
        else
            text.Append("No whole library was finished in these days.");
        if (numbers.Boxes.MaxBy(b => b.Updated) is { Updated: > 0 } updated)
            text.Append(CultureInfo.InvariantCulture, $" Most updated: {updated.Title}, {Times(updated.Updated)}.");
        if (numbers.Boxes.Sum(b => b.Begun) is > 0 and var begun && numbers.Boxes.Sum(b => b.NotFinished) is > 0 and var left)
            text.Append(CultureInfo.InvariantCulture, $" Of {Plural.Of(begun, "download")} begun a week ago or longer, {left:N0} {(left == 1 ? "was" : "were")} never finished.");
        return text.ToString();
    }

    private static string Times(int count) => count switch { 1 => "once", 2 => "twice", _ => string.Create(CultureInfo.InvariantCulture, $"{count:N0} times") };
}
