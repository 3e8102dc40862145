using System.Text;

namespace LibraryShelf.Core.Letters.Weekly;

/// <summary>The week's letter, but for who writes and how to stop it.</summary>
internal static class WeekWords
{
    /// <param name="facts">What is known.</param>
    /// <param name="address">The shelf's, without a slash at its end; null: pages are named in words.</param>
    public static (string Subject, string Text) Letter(WeekFacts facts, string? address)
    {
        var subject = T($"Your week: {WeekSentences.Many(facts.Moves.Members, "member")}, {WeekSentences.Many(facts.Finished, "download")} finished");
        var (days, text) = (facts.Week.Days, new StringBuilder());
        text.Append(LetterWords.Heading(T($"{WeekSentences.Day(days.First)} to {WeekSentences.Day(days.Last)}"))).Append("\n\n");
        var sentences = WeekSentences.Of(facts);
        if (sentences.Count == 0)
            return (subject, text.Append(T("Nothing in last week’s figures stands out.")).ToString());
        return (subject, text.AppendJoin("\n\n", sentences.Select(s => $"{s.Words}\n{(address is null ? T($"At the workbench: Numbers, {s.Page}.") : address + s.Path)}")).ToString());
    }
}
