using System.Buffers;
using System.IO.Compression;
using System.IO.Hashing;
using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Archives;

/// <summary>
/// Verifies an archive from the outside: the platform's zip reader reads every file, its CRC-32 and SHA-256 are held against the
/// zip's records and the checksum list inside, and the zip's records, byte by byte, against those the shelf would write.
/// </summary>
public sealed class ArchiveInspection
{
    /// <summary>Far more than a list of every file that fits into a zip without ZIP64; a longer one is not read into memory.</summary>
    private const int MostListBytes = 64 * 1024 * 1024;

    private readonly Stream file;
    private readonly Action<long>? read;
    private readonly List<Discrepancy> discrepancies = [];
    private readonly Dictionary<string, string?> found = new(StringComparer.Ordinal);
    private readonly Dictionary<string, string> hashes = new(StringComparer.Ordinal);
    private UpdateBetween? update;
    private long bytes;

    private ArchiveInspection(Stream file, Action<long>? read) => (this.file, this.read) = (file, read);

    /// <summary>
    /// Reads the whole archive. Damage is an answer, not an exception; IOException stays for a disk that can't be read.
    /// </summary>
    /// <param name="file">The archive; must seek; left open.</param>
    /// <param name="read">Told the count of content bytes after each buffer; may be null.</param>
    /// <param name="cancellationToken">Stops between two buffers.</param>
    public static async Task<Verification> RunAsync(Stream file, Action<long>? read, CancellationToken cancellationToken)
    {
        var inspection = new ArchiveInspection(file, read);
        try
        {
            await using var zip = await ZipArchive.CreateAsync(file, ZipArchiveMode.Read, leaveOpen: true, Encoding.UTF8, cancellationToken);
            await inspection.InspectAsync(zip, cancellationToken);
        }
        catch (InvalidDataException)
        {
            inspection.Add(DiscrepancyKind.Structure, null, T("It can’t be read as a zip: it is cut off, damaged, or another kind of file. Fetch it again."));
        }
        return new Verification(inspection.found.Count, inspection.bytes, inspection.discrepancies) { Update = inspection.update, Hashes = inspection.hashes };
    }

    private async Task InspectAsync(ZipArchive zip, CancellationToken cancellationToken)
    {
        var files = zip.Entries.Where(e => !e.FullName.EndsWith('/')).ToList();
        foreach (var entry in files)
        {
            if (PortablePath.Check(entry.FullName) is { } problem && PortablePath.IsUnsafe(problem))
                Add(DiscrepancyKind.UnsafeName, entry.FullName, PortablePath.Words(problem));
            if (!found.TryAdd(entry.FullName, null))
                Add(DiscrepancyKind.Structure, entry.FullName, T("It is in the archive twice."));
            if ((found[entry.FullName] = await HashAsync(entry, cancellationToken)) is { } sha256)
                hashes[entry.FullName] = sha256;
        }
        await CompareWithListsAsync(files, cancellationToken);
        await CompareRecordsAsync(zip.Entries, cancellationToken);
    }

    /// <summary>The SHA-256 of a file's bytes; null, and said, when they can't be read or don't have the CRC-32 of the zip's record.</summary>
    private async Task<string?> HashAsync(ZipArchiveEntry entry, CancellationToken cancellationToken)
    {
        using var sha256 = IncrementalHash.CreateHash(HashAlgorithmName.SHA256);
        var crc32 = new Crc32();
        try
        {
            await using var body = await entry.OpenAsync(cancellationToken);
            await ReadAsync(body, chunk => { sha256.AppendData(chunk.Span); crc32.Append(chunk.Span); }, cancellationToken);
        }
        catch (Exception e) when (e is InvalidDataException or NotSupportedException)
        {
            Add(DiscrepancyKind.Altered, entry.FullName, T("Its bytes can’t be read out of the archive: damaged, encrypted or packed in an unknown way."));
            return null;
        }
        if (crc32.GetCurrentHashAsUInt32() == entry.Crc32)
            return Convert.ToHexStringLower(sha256.GetHashAndReset());
        Add(DiscrepancyKind.Altered, entry.FullName, T("Its bytes don’t have the CRC-32 that the archive gives for them."));
        return null;
    }

    private async Task ReadAsync(Stream body, Action<ReadOnlyMemory<byte>> take, CancellationToken cancellationToken)
    {
        var buffer = ArrayPool<byte>.Shared.Rent(128 * 1024);
        try
        {
            for (int count; (count = await body.ReadAsync(buffer, cancellationToken)) > 0;)
            {
                take(buffer.AsMemory(0, count));
                bytes += count;
                read?.Invoke(count);
            }
        }
        finally
        {
            ArrayPool<byte>.Shared.Return(buffer);
        }
    }

    /// <summary>Of a month's archive each library's folder has a list of its own.</summary>
    private async Task CompareWithListsAsync(List<ZipArchiveEntry> files, CancellationToken cancellationToken)
    {
        var tops = files.Select(e => e.FullName[..(e.FullName.IndexOf('/') + 1)]).Distinct(StringComparer.Ordinal).ToList();
        var isMonth = tops.Count > 1 && tops.TrueForAll(top => top.Length > 0 && ListIn(top) is not null);
        foreach (var top in isMonth ? tops : [tops.Count == 1 ? tops[0] : ""])
            await CompareWithListAsync([.. files.Where(f => f.FullName.StartsWith(top, StringComparison.Ordinal))], top, cancellationToken);
    }

    private string? ListIn(string top) =>
        FullArchive.FindChecksums(found.Keys.Where(p => p.StartsWith(top, StringComparison.Ordinal)).Select(p => p[top.Length..]));

    private async Task CompareWithListAsync(List<ZipArchiveEntry> files, string top, CancellationToken cancellationToken)
    {
        var listPath = ListIn(top);
        if (listPath is null)
        {
            Add(DiscrepancyKind.Checksums, null, T($"There is no {FullArchive.ChecksumsName} in it, so only its own CRC-32s could be held against its files."));
            return;
        }
        var list = files.First(e => e.FullName == top + listPath);
        if (found[list.FullName] is null)
            return; // said already: the list itself is damaged
        if (await ReadListAsync(list, cancellationToken) is not { } listed)
            return;
        var ofUpdate = await FindNoteAsync(files, top, listed, cancellationToken);
        var held = found.Where(f => f.Key.StartsWith(top, StringComparison.Ordinal) && f.Key != list.FullName && f.Key != ofUpdate).ToDictionary(StringComparer.Ordinal);
        // An update's list speaks of the whole folder; what the version before has already is not in the archive.
        discrepancies.AddRange(ChecksumComparison.Compare(listed.Select(l => l with { Path = top + l.Path }), held)
            .Where(d => ofUpdate is null || d.Kind != DiscrepancyKind.Missing));
    }

    /// <summary>The file that says of an update which one it is; null in a whole library, also one whose maker has a file of such a name.</summary>
    private async Task<string?> FindNoteAsync(List<ZipArchiveEntry> files, string top, IReadOnlyList<ListedChecksum> listed, CancellationToken cancellationToken)
    {
        var own = listed.Select(l => top + l.Path).ToHashSet(StringComparer.Ordinal);
        foreach (var entry in files.Where(e => e.FullName.StartsWith(top, StringComparison.Ordinal) && UpdateBetween.MayStandIn(e.FullName[top.Length..])
            && !own.Contains(e.FullName) && found[e.FullName] is not null))
        {
            await using var body = await entry.OpenAsync(cancellationToken);
            var beginning = new byte[UpdateBetween.MostLineBytes];
            var count = await body.ReadAtLeastAsync(beginning, beginning.Length, throwOnEndOfStream: false, cancellationToken);
            if ((update = UpdateBetween.Read(Encoding.UTF8.GetString(beginning, 0, count).Split('\n')[0])) is not null)
                return entry.FullName;
        }
        return null;
    }

    private async Task<IReadOnlyList<ListedChecksum>?> ReadListAsync(ZipArchiveEntry list, CancellationToken cancellationToken)
    {
        if (list.Length > MostListBytes)
        {
            Add(DiscrepancyKind.Checksums, list.FullName, T("The checksum list is too long to be one."));
            return null;
        }
        try
        {
            using var reader = new StreamReader(await list.OpenAsync(cancellationToken), Encoding.UTF8);
            return ChecksumList.Read(await reader.ReadToEndAsync(cancellationToken));
        }
        catch (FormatException e)
        {
            Add(DiscrepancyKind.Checksums, list.FullName, T($"The checksum list can’t be read. {e.Message}"));
            return null;
        }
    }

    private async Task CompareRecordsAsync(IReadOnlyCollection<ZipArchiveEntry> entries, CancellationToken cancellationToken)
    {
        var isWhole = discrepancies.Count == 0;
        try
        {
            if (await ArchiveRecords.FirstDifferenceAsync(file, entries, cancellationToken) is { } where)
                Add(DiscrepancyKind.Structure, null, isWhole
                    ? T($"Every file is whole, but the archive’s own records are not as the shelf writes them ({where}): it was altered or packed anew.")
                    : T($"The archive’s own records are not as the shelf writes them ({where}): it was altered or packed anew."));
        }
        catch (RecipeException e)
        {
            Add(DiscrepancyKind.Structure, null, isWhole
                ? T($"Every file is whole, but the archive is not one that the shelf writes. {e.Message}")
                : T($"The archive is not one that the shelf writes. {e.Message}"));
        }
    }

    private void Add(DiscrepancyKind kind, string? path, string message) => discrepancies.Add(new(kind, path, message));
}
