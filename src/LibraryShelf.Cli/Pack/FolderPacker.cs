using System.Security.Cryptography;
using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Pack;

/// <summary>An archive that lies on the disk now.</summary>
internal sealed record Packed(PackOrder Order, Recipe Recipe, long Length, string Sha256, LocalFolder Folder);

/// <summary>Packs one folder: hash, make the recipe, write beside the target, and only when whole put it in its place.</summary>
internal sealed class FolderPacker(ShelfConsole console)
{
    /// <summary>CouldNotRunException when the folder can't be packed as it is; no archive is left then, an older one stays.</summary>
    public async Task<Packed> RunAsync(PackOrder order, CancellationToken cancellationToken)
    {
        var folder = LocalFolder.Read(order.Folder);
        if (folder.Files.Count == 0)
            throw new CouldNotRunException($"there is no file in {order.Folder}.");
        var recipe = await MakeRecipeAsync(order.Input, folder, cancellationToken);
        var layout = new ArchiveLayout(recipe);
        var part = order.Output + ".part";
        try
        {
            var sha256 = await WriteAsync(layout, folder, part, cancellationToken);
            File.Move(part, order.Output, overwrite: true);
            return new Packed(order, recipe, layout.Length, sha256, folder);
        }
        catch (Exception e) when (e is InvalidDataException or FileNotFoundException)
        {
            throw new CouldNotRunException($"a file changed while the folder was packed: {e.Message} No archive was written; pack again.", e);
        }
        finally
        {
            File.Delete(part);
        }
    }

    private async Task<Recipe> MakeRecipeAsync(FullArchiveInput input, LocalFolder folder, CancellationToken cancellationToken)
    {
        try
        {
            using var progress = console.StartProgress("Reading", folder.Bytes);
            var sums = await FileHashing.HashAsync(folder.Files, progress.Add, cancellationToken);
            return FullArchive.Build(input with { Files = [.. sums.Select(s => RecipeEntry.FromBlob(s.File.Path, s.Size, s.Crc32, s.Sha256))] });
        }
        catch (RecipeException e)
        {
            throw new CouldNotRunException("this folder can't be packed as it is. " + e.Message, e);
        }
    }

    private async Task<string> WriteAsync(ArchiveLayout layout, LocalFolder folder, string part, CancellationToken cancellationToken)
    {
        var places = folder.Files.ToDictionary(f => f.Path, f => f.FullPath, StringComparer.Ordinal);
        var byHash = layout.Recipe.Entries.Where(e => e.Sha256 is not null)
            .DistinctBy(e => e.Sha256).ToDictionary(e => e.Sha256!, e => places[e.Path], StringComparer.Ordinal);
        using var progress = console.StartProgress("Writing", layout.Length);
        using var sha256 = SHA256.Create();
        await using var file = new FileStream(part, new FileStreamOptions
        {
            Mode = FileMode.Create,
            Access = FileAccess.Write,
            BufferSize = 0,
            PreallocationSize = layout.Length,
        });
        await using var hashed = new CryptoStream(file, sha256, CryptoStreamMode.Write, leaveOpen: true);
        await ArchiveWriter.WriteAsync(layout, hash => File.OpenRead(byHash[hash]), hashed, 0, layout.Length, cancellationToken, progress.Add);
        await hashed.FlushFinalBlockAsync(cancellationToken);
        return Convert.ToHexStringLower(sha256.Hash!);
    }
}
