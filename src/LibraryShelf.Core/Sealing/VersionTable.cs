using System.Text.Json;
using System.Text.Json.Serialization;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// The shape "libraryshelf/versions/1": every file of every version that is or was on the shelf, by hash. A file (path and bytes) stands once in
/// <paramref name="Files"/>, those of the oldest version first; a version names its files as runs into that list.
/// </summary>
public sealed record VersionTable(string Schema, string Slug, string Title, IReadOnlyList<VersionFile> Files, IReadOnlyList<TableVersion> Versions)
{
    public const string SchemaName = "libraryshelf/versions/1";

    public byte[] ToJson() => JsonSerializer.SerializeToUtf8Bytes(this, VersionTableJson.Default.VersionTable);
}

/// <summary>A file of a version; <paramref name="Path"/> lies within the top folder, <paramref name="Size"/> is bytes, <paramref name="Sha256"/> lower-case hex.</summary>
public sealed record VersionFile(string Path, long Size, string Sha256);

/// <summary>A version. <paramref name="WithdrawnBecause"/> is null while it stands on the shelf.</summary>
/// <param name="Number">SemVer 2.0.0.</param>
/// <param name="Folder">The one top folder in its archive.</param>
/// <param name="PublishedAt">When it came on the shelf; null for one given early.</param>
/// <param name="WithdrawnAt">When it was taken back; null while it stands.</param>
/// <param name="WithdrawnBecause">In the maker's words.</param>
/// <param name="Bytes">Of the whole library's archive.</param>
/// <param name="Runs">Pairs: the first file's place in the list (from 0) and how many follow it, itself included. Null when its list can't be read now.</param>
public sealed record TableVersion(
    string Number, string? Folder, DateTimeOffset? PublishedAt, DateTimeOffset? WithdrawnAt, string? WithdrawnBecause, long Bytes, IReadOnlyList<int>? Runs);

[JsonSourceGenerationOptions(JsonSerializerDefaults.Web, DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull)]
[JsonSerializable(typeof(VersionTable))]
internal sealed partial class VersionTableJson : JsonSerializerContext;
