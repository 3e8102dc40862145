using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Verify;

/// <summary>Verifies an archive on this machine.</summary>
internal sealed class ArchiveVerifier(ShelfConsole console)
{
    /// <summary>CouldNotRunException when there is no such file.</summary>
    public async Task<Verification> RunAsync(string path, CancellationToken cancellationToken)
    {
        if (!File.Exists(path))
            throw new CouldNotRunException($"there is no file or folder {path}.");
        await using var file = File.OpenRead(path);
        using var progress = console.StartProgress("Verifying", file.Length);
        return await ArchiveInspection.RunAsync(file, progress.Add, cancellationToken);
    }
}
