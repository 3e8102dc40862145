using System.Text.Json;
using System.Text.Json.Serialization;

namespace LibraryShelf.Web.Setup.Demo.Recipes;

/// <summary>
/// Reads seed/: recipes as JSON, words as Markdown beside them. An unknown word in a recipe is an error, so that a slip of the
/// pen is not silently ignored.
/// </summary>
internal static class SeedReader
{
    private static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web)
    {
        UnmappedMemberHandling = JsonUnmappedMemberHandling.Disallow,
        ReadCommentHandling = JsonCommentHandling.Skip,
        AllowTrailingCommas = true,
        RespectNullableAnnotations = true,
        Converters = { new JsonStringEnumConverter(allowIntegerValues: false) },
    };

    /// <summary>Where the build puts seed/: beside the program.</summary>
    public static string DefaultFolder => Path.Combine(AppContext.BaseDirectory, "seed");

    public static ShopRecipe Read(string folder)
    {
        var shop = Parse<ShopRecipe>(Path.Combine(folder, "shop.json"));
        return shop with
        {
            Terms = Words(folder, "terms.md"),
            Privacy = Words(folder, "privacy.md"),
            Licence = Words(folder, "licence.md"),
            Libraries = [.. Directory.GetDirectories(Path.Combine(folder, "libraries"))
                .Order(StringComparer.Ordinal)
                .Select(library => ReadLibrary(library, Path.Combine(folder, "players")))
                .OrderByDescending(library => library.Versions[0].DaysAgo)],
        };
    }

    private static LibraryRecipe ReadLibrary(string folder, string players)
    {
        var library = Parse<LibraryRecipe>(Path.Combine(folder, "recipe.json"));
        var versions = new List<VersionRecipe>();
        foreach (var version in library.Versions)
            versions.Add(Complete(version, versions.LastOrDefault(), library, folder, players));
        return library with { Description = Words(folder, "description.md"), Versions = versions };
    }

    private static VersionRecipe Complete(VersionRecipe version, VersionRecipe? before, LibraryRecipe library, string folder, string players) =>
        version with
        {
            Notes = Words(folder, version.Number + ".md"),
            LicenceText = version.Licence is null ? Words(folder, "licence.md") : "",
            LicenceInShort = version.Licence is null ? library.LicenceInShort : "",
            Credits = version.Credits.Length > 0 ? version.Credits : before?.Credits ?? "",
            Names = version.Names.Length > 0 ? version.Names : before?.Names ?? "",
            Groups = version.Groups.Count > 0 ? version.Groups : before?.Groups ?? [],
            PlayerFiles = version.PlayerFiles.Count > 0 ? version.PlayerFiles : before?.PlayerFiles ?? [],
            RecordedAgain = [.. before?.RecordedAgain ?? [], .. version.RecordedAgain],
            Players = version.Players.Count == 0
                ? before?.Players ?? []
                : [.. version.Players.Select(player => player with
                {
                    HowToInstall = Words(players, player.Name.ToLowerInvariant() + ".md").Replace("{title}", library.Title, StringComparison.Ordinal),
                })],
        };

    private static T Parse<T>(string file)
    {
        try
        {
            return JsonSerializer.Deserialize<T>(File.ReadAllText(file), Json) ?? throw new InvalidDataException($"{file} is empty.");
        }
        catch (JsonException fault)
        {
            throw new InvalidDataException($"The practice shop's {file} can't be read: {fault.Message}", fault);
        }
    }

    private static string Words(string folder, string file) => File.ReadAllText(Path.Combine(folder, file)).Trim() + "\n";
}
