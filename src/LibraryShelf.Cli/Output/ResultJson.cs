using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using LibraryShelf.Cli.Pack;
using LibraryShelf.Cli.Send;
using LibraryShelf.Cli.Update;
using LibraryShelf.Cli.Verify;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Cli.Output;

/// <summary>What --json prints, one shape per command. Written when compiled: the command line looks nothing up by reflection.</summary>
[JsonSerializable(typeof(CheckJson))]
[JsonSerializable(typeof(CompareJson))]
[JsonSerializable(typeof(PackJson))]
[JsonSerializable(typeof(SendJson))]
[JsonSerializable(typeof(UpdateJson))]
[JsonSerializable(typeof(VerifyJson))]
internal sealed partial class ResultJson : JsonSerializerContext
{
    public static readonly ResultJson Printed = new(new JsonSerializerOptions(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        NewLine = "\n",
        // Only for output to a file or a terminal, never into a page: names of recordings stay readable.
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Converters = { new HyphenedWords<Severity>(), new HyphenedWords<DiscrepancyKind>() },
    });
}

/// <summary>An enum's value as lower-case words with hyphens: MustFix is "must-fix".</summary>
internal sealed class HyphenedWords<T>() : JsonStringEnumConverter<T>(JsonNamingPolicy.KebabCaseLower) where T : struct, Enum;
