using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Verify;

/// <summary>The shape "libraryshelf/verify/1". What stands in braces is there only with --against; then extra files are no discrepancies.</summary>
internal sealed record VerifyJson(string Schema, string Path, bool Whole, int Files, long Bytes, IReadOnlyList<Discrepancy> Discrepancies)
{
    /// <summary>The number of the version it is, or is nearest to.</summary>
    public string? Version { get; init; }
    /// <summary>The address of the list it was held against.</summary>
    public string? Against { get; init; }
    public string? Latest { get; init; }
    /// <summary>Bytes of the latest version's files that this version does not have.</summary>
    public long? UpdateBytes { get; init; }
    public IReadOnlyList<string>? Extra { get; init; }

    /// <summary>The two versions, of an update archive.</summary>
    public UpdateBetweenJson? Update { get; init; }

    public static VerifyJson Of(string path, Verification verified) => new(
        "libraryshelf/verify/1", path, verified.Discrepancies.Count == 0, verified.Files, verified.Bytes, verified.Discrepancies)
    {
        Update = verified.Update is { } between ? new UpdateBetweenJson(between.From, between.To) : null,
    };
}

internal sealed record UpdateBetweenJson(string From, string To);

/// <summary>Says what verifying found. Stable for scripts: schema libraryshelf/verify/1.</summary>
internal static class VerifyReport
{
    public static void Print(ShelfConsole console, string path, Verification verified, bool json)
    {
        if (json)
        {
            console.Json(VerifyJson.Of(path, verified), ResultJson.Printed.VerifyJson);
            return;
        }
        foreach (var found in verified.Discrepancies)
            console.Say($"{Word(found.Kind)}: {(found.Path is null ? "" : found.Path + ": ")}{found.Message}");
        if (verified.Update is { } between)
            console.Say($"{path}: this is the update from {between.From} to {between.To}. Put it into the folder of {between.From} with `shelf update`, or unzip it over that.");
        console.Say(verified.Discrepancies.Count == 0
            ? verified.Files == 1 ? $"{path}: its one file is as it was packed." : $"{path}: all {verified.Files} files are as they were packed."
            : $"{path}: not as it was packed ({verified.Discrepancies.Count} found in {verified.Files} files).");
    }

    public static string Word(DiscrepancyKind kind) => kind switch
    {
        DiscrepancyKind.UnsafeName => "unsafe name",
        _ => kind.ToString().ToLowerInvariant(),
    };
}
