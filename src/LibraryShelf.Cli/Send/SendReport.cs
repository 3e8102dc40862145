using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Cli.Send;

/// <summary>The shape "libraryshelf/send/1". Files and bytes of the folder; of these, what went over the line; the shelf's standing.</summary>
internal sealed record SendJson(
    string Schema, Uri Shelf, string Library, string Number, int Files, long Bytes, int SentFiles, long SentBytes,
    IReadOnlyList<string> PassedOver, string State, string? Trouble, IReadOnlyList<FindingAnswer> Findings, Uri Sheet);

/// <summary>Says what was sent and what the check found. Stable for scripts: schema libraryshelf/send/1.</summary>
internal static class SendReport
{
    /// <summary>Answers the exit code: 1 when something must be fixed or the check was not done.</summary>
    public static int Print(ShelfConsole console, Sent sent, bool json)
    {
        var standing = sent.Standing;
        var mustFix = standing.Findings.Count(f => f is { Severity: Severity.MustFix, IsExcused: false });
        if (json)
            console.Json(JsonOf(sent), ResultJson.Printed.SendJson);
        else
            Say(console, sent);
        return mustFix > 0 || standing.Trouble is not null || standing.State != "checked" ? ExitCodes.FoundSomething : ExitCodes.Fine;
    }

    private static SendJson JsonOf(Sent sent) => new(
        "libraryshelf/send/1", sent.Order.Shelf, sent.Order.Library, sent.Draft.Number, sent.Folder.Files.Count, sent.Folder.Bytes,
        sent.SentFiles, sent.SentBytes, sent.Folder.PassedOver, sent.Standing.State, sent.Standing.Trouble, sent.Standing.Findings, sent.Sheet);

    private static void Say(ShelfConsole console, Sent sent)
    {
        console.Say($"{sent.Order.Library} {sent.Draft.Number}: {sent.Folder.Files.Count} files, {sent.Folder.Bytes} bytes; sent {sent.SentFiles} files, {sent.SentBytes} bytes");
        foreach (var path in sent.Folder.PassedOver)
            console.Say($"passed over: {path} (left there by the system, no part of the library)");
        if (sent.Standing.Trouble is not null)
            console.Say(sent.Standing.Trouble);
        foreach (var finding in sent.Standing.Findings)
            console.Say(Line(finding));
        if (sent.Standing is { State: "checked", Findings.Count: 0 })
            console.Say("the check found nothing");
        console.Say($"check sheet: {sent.Sheet}");
    }

    private static string Line(FindingAnswer finding)
    {
        var severity = finding.Severity switch { Severity.MustFix => "must fix", Severity.ListenAgain => "listen again", _ => "fine" };
        return $"{severity}{(finding.IsExcused ? " (excused)" : "")}: {(finding.Path is null ? "" : finding.Path + ": ")}{finding.Message}";
    }
}
