using System.Text.Json.Serialization;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Cli.Send;

// The questions to a shelf and its answers, as docs/ARCHITECTURE.md's walk of a release names them. Sizes in bytes.

internal sealed record PlanLine(string Path, long Size, string Sha256);

internal sealed record DraftQuestion(string? Number);

internal sealed record FolderQuestion(IReadOnlyList<PlanLine> Files);

internal sealed record DraftAnswer(long Id, string Number, string Sheet);

/// <summary>A file the shelf lacks; <paramref name="Upload"/> is the address of one begun earlier.</summary>
internal sealed record WantedLine(string Path, long Size, string? Sha256, string? Upload);

internal sealed record PlanAnswer(int Files, long Bytes, long WantedBytes, IReadOnlyList<WantedLine> Wanted);

internal sealed record FindingAnswer(string Code, Severity Severity, string? Path, string Message, bool IsExcused);

internal sealed record StandingAnswer(
    string State, int FilesMissing, bool IsChecking, int CheckDone, int CheckTotal, string? Trouble, IReadOnlyList<FindingAnswer> Findings);

internal sealed record RefusalAnswer(string? Message);

[JsonSerializable(typeof(DraftQuestion))]
[JsonSerializable(typeof(FolderQuestion))]
[JsonSerializable(typeof(DraftAnswer))]
[JsonSerializable(typeof(PlanAnswer))]
[JsonSerializable(typeof(StandingAnswer))]
[JsonSerializable(typeof(RefusalAnswer))]
internal sealed partial class ShelfJson : JsonSerializerContext;
