using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Pack;

/// <summary>Says what was packed. Stable for scripts: schema libraryshelf/pack/1.</summary>
internal static class PackReport
{
    public static void Print(ShelfConsole console, Packed packed, bool json)
    {
        var recipe = packed.Recipe;
        var names = FullArchive.NamesOfTexts(packed.Folder.Files.Select(f => f.Path));
        if (json)
        {
            console.Json(new
            {
                Schema = "libraryshelf/pack/1",
                File = packed.Order.Output,
                packed.Order.Input.Title,
                packed.Order.Input.Number,
                recipe.TopFolder,
                Files = recipe.Entries.Count,
                Bytes = packed.Length,
                packed.Sha256,
                RecipeSha256 = recipe.Sha256,
                Added = new[] { names.Changes, names.Licence, names.Install, names.Checksums },
                packed.Folder.PassedOver,
            });
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
