using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Letters;

/// <summary>Who writes a letter, and from where.</summary>
/// <param name="Shop">Null before the shelf is claimed.</param>
/// <param name="Address">Of the shelf, without a slash at its end; null: it is not set, and letters name places in words.</param>
internal sealed record LetterDesk(Shop? Shop, string? Address)
{
    public string ShopName => MailWords.ShopName(Shop);

    /// <summary>As the settings give it: no request is at hand that could tell it.</summary>
    public static string? AddressOf(string publicUrl) => publicUrl.TrimEnd('/') is { Length: > 0 } set ? set : null;
}

/// <summary>What letters say in the same words.</summary>
internal static class LetterWords
{
    /// <summary>What a version opens in, how big it is, and how much of it this person needs: a line each.</summary>
    public static string Facts(LetterRelease one)
    {
        var needs = OpensIn.Needs(one.Release.Players);
        string?[] lines =
        [
            needs.Length > 0 ? T($"- opens in {needs}") : null,
            one.Bytes is { } bytes ? T($"- {DataSize.Of(bytes)} as a whole") : T("- its size is known once it is sealed"),
            one.Update is { } update ? T($"- {DataSize.Of(update.Bytes)} for you, as an update from your {update.FromNumber}") : null,
        ];
        return string.Join('\n', lines.OfType<string>());
    }

    /// <summary>On one line: a title with a line end in it would break the heading, and the subject.</summary>
    public static string Line(string text) => string.Join(' ', text.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));

    /// <summary>A line with a line of hyphens below it, as long as it is.</summary>
    public static string Heading(string text) => $"{Line(text)}\n{new string('-', Math.Max(3, Line(text).Length))}";

    /// <summary>Where mails of a kind are stopped.</summary>
    public static string StopAt(string address, string key, LetterKind kind) => $"{address}/letters/{key}/{kind.Slug}";

    /// <summary>How to get no more of them, put before who writes.</summary>
    public static string WithWayOut(string text, LetterKind kind, string? stopAt)
    {
        var way = stopAt is null
            ? T($"You want no more mails about {kind.Title}? Sign in on the shelf, and choose under Mine, Letters.")
            : T($"You want no more mails about {kind.Title}? Press the button on this page:\n{stopAt}");
        var foot = text.LastIndexOf("\n\n-- \n", StringComparison.Ordinal);
        return foot < 0 ? $"{text}\n\n{way}" : text.Insert(foot, $"\n\n{way}");
    }
}
