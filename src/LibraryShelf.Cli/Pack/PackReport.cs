using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Pack;

/// <summary>The shape "libraryshelf/pack/1". Bytes are the archive's; Added are the texts the shelf put beside the maker's files.</summary>
internal sealed record PackJson(
    string Schema, string File, string Title, string Number, string TopFolder, int Files, long Bytes, string Sha256, string RecipeSha256,
    IReadOnlyList<string> Added, IReadOnlyList<string> PassedOver);

/// <summary>Says what was packed. Stable for scripts: schema libraryshelf/pack/1.</summary>
internal static class PackReport
{
    public static void Print(ShelfConsole console, Packed packed, bool json)
    {
        var recipe = packed.Recipe;
        var names = FullArchive.NamesOfTexts(packed.Folder.Files.Select(f => f.Path));
        if (json)
        {
            console.Json(
                new PackJson(
                    "libraryshelf/pack/1", packed.Order.Output, packed.Order.Input.Title, packed.Order.Input.Number, recipe.TopFolder,
                    recipe.Entries.Count, packed.Length, packed.Sha256, recipe.Sha256,
                    [names.Changes, names.Licence, names.Install, names.Checksums], packed.Folder.PassedOver),
                ResultJson.Printed.PackJson);
            return;
        }
        console.Say($"{packed.Order.Output}: {recipe.Entries.Count} files in \"{recipe.TopFolder}\", {packed.Length} bytes");
        console.Say($"SHA-256 {packed.Sha256}");
        SayName(console, FullArchive.ChangesName, names.Changes);
        SayName(console, FullArchive.LicenceName, names.Licence);
        SayName(console, FullArchive.InstallName, names.Install);
        SayName(console, FullArchive.ChecksumsName, names.Checksums);
        foreach (var path in packed.Folder.PassedOver)
            console.Say($"passed over: {path} (left there by the system, no part of the library)");
    }

    private static void SayName(ShelfConsole console, string usual, string given)
    {
        if (usual != given)
            console.Say($"kept your own {usual}; the shelf's is {given}");
    }
}
