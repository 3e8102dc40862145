using System.IO.Compression;
using System.Text;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Update;

/// <summary>An archive to update from: an update, a lean one, or a full one. Its checksum list says what the new folder holds.</summary>
internal sealed class UpdateSource : IAsyncDisposable
{
    private readonly ZipArchive zip;
    private readonly Dictionary<string, ZipArchiveEntry> entries;

    private UpdateSource(ZipArchive zip, string top, Dictionary<string, ZipArchiveEntry> entries, string listPath, IReadOnlyList<ListedChecksum> listed) =>
        (this.zip, TopFolder, this.entries, ListPath, Listed) = (zip, top, entries, listPath, listed);

    public string TopFolder { get; }
    public string ListPath { get; }
    public IReadOnlyList<ListedChecksum> Listed { get; }

    /// <summary>
    /// Verifies every byte of the archive first; what an update leaves out is no fault. CouldNotRunException when it is damaged, or not
    /// one that the shelf made.
    /// </summary>
    public static async Task<UpdateSource> OpenAsync(string path, ShelfConsole console, CancellationToken cancellationToken)
    {
        if (!File.Exists(path))
            throw new CouldNotRunException($"there is no file {path}.");
        var file = File.OpenRead(path);
        try
        {
            await VerifyAsync(path, file, console, cancellationToken);
            return await ReadAsync(path, await ZipArchive.CreateAsync(file, ZipArchiveMode.Read, leaveOpen: false, Encoding.UTF8, cancellationToken), cancellationToken);
        }
        catch
        {
            await file.DisposeAsync();
            throw;
        }
    }

    public bool Has(string path) => entries.ContainsKey(path);

    public long SizeOf(string path) => entries[path].Length;

    public Task<Stream> OpenAsync(string path, CancellationToken cancellationToken) => entries[path].OpenAsync(cancellationToken);

    public ValueTask DisposeAsync() => zip.DisposeAsync();

    internal static IReadOnlyList<ListedChecksum> ReadList(string text, string name)
    {
        try
        {
            return ChecksumList.Read(text);
        }
        catch (FormatException e)
        {
            throw new CouldNotRunException($"{name} can't be read as a checksum list. {e.Message}", e);
        }
    }

    private static async Task VerifyAsync(string path, Stream file, ShelfConsole console, CancellationToken cancellationToken)
    {
        using var progress = console.StartProgress("Verifying", file.Length);
        var verified = await ArchiveInspection.RunAsync(file, progress.Add, cancellationToken);
        if (verified.Discrepancies.FirstOrDefault(d => d.Kind is not (DiscrepancyKind.Missing or DiscrepancyKind.Extra or DiscrepancyKind.Renamed)) is { } wrong)
            throw new CouldNotRunException($"{path} is not as it was packed: {(wrong.Path is null ? "" : wrong.Path + ": ")}{wrong.Message} Nothing was changed. Fetch it again.");
        file.Seek(0, SeekOrigin.Begin);
    }

    private static async Task<UpdateSource> ReadAsync(string path, ZipArchive zip, CancellationToken cancellationToken)
    {
        var top = zip.Entries.Count == 0 ? "" : zip.Entries[0].FullName.Split('/')[0];
        if (zip.Entries.Any(e => !e.FullName.StartsWith(top + "/", StringComparison.Ordinal)))
            throw new CouldNotRunException($"{path} holds no single library. Nothing was changed.");
        var byPath = zip.Entries.ToDictionary(e => e.FullName[(top.Length + 1)..], StringComparer.Ordinal);
        var list = FullArchive.FindChecksums(byPath.Keys)!;
        using var reader = new StreamReader(await byPath[list].OpenAsync(cancellationToken), Encoding.UTF8);
        var listed = ReadList(await reader.ReadToEndAsync(cancellationToken), list);
        // Recipes hold only what may be stored; a list is text that anybody may have written.
        if (RecipeProblem(listed) is { } problem)
            throw new CouldNotRunException($"{list} in {path} is not one that the shelf writes. {problem} Nothing was changed.");
        return new UpdateSource(zip, top, byPath, list, listed);
    }

    private static string? RecipeProblem(IReadOnlyList<ListedChecksum> listed)
    {
        try
        {
            _ = new Recipe("", Recipe.Undated, listed.Select(l => RecipeEntry.FromBlob(l.Path, 0, 0, l.Sha256)));
            return null;
        }
        catch (RecipeException e)
        {
            return e.Message;
        }
    }
}
