using System.Text.Json;
using System.Text.Json.Serialization;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Pack;

/// <summary>
/// All the words of a release in one JSON file (schema libraryshelf/words/1): what the workbench knows of it besides its files. With
/// the same words and files, `shelf pack` writes the very bytes that sealing serves.
/// </summary>
internal sealed partial record PackWords
{
    private const string KnownSchema = "libraryshelf/words/1";

    [JsonSourceGenerationOptions(
        JsonSerializerDefaults.Web, UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        RespectNullableAnnotations = true, RespectRequiredConstructorParameters = true)]
    [JsonSerializable(typeof(PackWords))]
    private sealed partial class WordsJson : JsonSerializerContext;

    public required string Schema { get; init; }
    // Set, not init: what the file leaves out keeps its default only where the generated reader need not name it.
    /// <summary>This release first, then every earlier one, newest first.</summary>
    public IReadOnlyList<ReleaseChange> Changes { get; set; } = [];
    public string? LicenceSpdx { get; set; }
    public string LicenceText { get; set; } = "";
    public string Credits { get; set; } = "";
    public IReadOnlyList<PlayerGuide> Players { get; set; } = [];
    public DateOnly Dated { get; set; } = Recipe.Undated;

    /// <summary>Reads the file's text. CouldNotRunException when it is not of this schema or speaks of another release.</summary>
    public static FullArchiveInput Read(string json, string title, string number)
    {
        var words = Parse(json);
        if (words.Schema != KnownSchema)
            throw new CouldNotRunException($"--words: its schema is \"{words.Schema}\"; this shelf reads {KnownSchema}.");
        if (words.Changes.Count == 0 || words.Changes[0].Number != number)
            throw new CouldNotRunException($"--words: the first of its changes has to be that of {number}.");
        if (words.Dated < Recipe.Undated || words.Dated > Recipe.LastDate)
            throw new CouldNotRunException("--words: \"dated\" has to lie between 1980 and 2107.");
        return new FullArchiveInput
        {
            Title = title,
            Number = number,
            Files = [],
            Changes = words.Changes,
            LicenceSpdx = words.LicenceSpdx,
            LicenceText = words.LicenceText,
            Credits = words.Credits,
            Players = words.Players,
            Dated = words.Dated,
        };
    }

    private static PackWords Parse(string json)
    {
        try
        {
            return JsonSerializer.Deserialize(json, WordsJson.Default.PackWords) ?? throw new CouldNotRunException("--words: the file says nothing.");
        }
        catch (JsonException e)
        {
            throw new CouldNotRunException($"--words can't be read: {e.Message}", e);
        }
    }
}
