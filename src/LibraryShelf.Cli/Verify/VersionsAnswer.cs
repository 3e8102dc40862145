using System.Text.Json;
using System.Text.Json.Serialization;

namespace LibraryShelf.Cli.Verify;

// A shelf's "libraryshelf/versions/1". Runs are pairs into Files: first place, count.

internal sealed record FileLine(string Path, long Size, string Sha256);

internal sealed record VersionLine(string Number, DateTimeOffset? WithdrawnAt, string? WithdrawnBecause, IReadOnlyList<int>? Runs);

internal sealed record VersionsAnswer(string? Schema, string? Title, IReadOnlyList<FileLine> Files, IReadOnlyList<VersionLine> Versions)
{
    /// <summary>It is of the schema, complete, and every run lies within the list.</summary>
    [JsonIgnore]
    public bool IsSound => Schema == "libraryshelf/versions/1" && Files is not null && Versions is not null
        && Files.All(f => f is { Path: not null, Sha256: not null }) && Versions.All(v => v is { Number: not null } && (v.Runs is null || AreSound(v.Runs)))
        && Versions.Any(v => v.Runs is not null);

    private bool AreSound(IReadOnlyList<int> runs) =>
        runs.Count % 2 == 0 && runs.Chunk(2).All(r => r[0] >= 0 && r[1] > 0 && r[0] <= Files.Count - r[1])
        && runs.Chunk(2).Sum(r => (long)r[1]) <= Files.Count;
}

[JsonSourceGenerationOptions(JsonSerializerDefaults.Web)]
[JsonSerializable(typeof(VersionsAnswer))]
internal sealed partial class VersionsJson : JsonSerializerContext;
