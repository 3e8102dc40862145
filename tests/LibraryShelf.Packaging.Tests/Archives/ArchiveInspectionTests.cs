using System.IO.Compression;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Packaging.Tests.Archives;

public sealed class ArchiveInspectionTests
{
    private readonly SampleArchive sample = new();

    private Recipe Kettle() => FullArchive.Build(new FullArchiveInput
    {
        Title = "Mended Kettle",
        Number = "1.0.0",
        Files = [sample.Blob("Samples/C4.wav", [1, 2, 3, 4, 5]), sample.Blob("empty.wav", []), sample.Blob("k.sfz", [7, 7])],
    });

    private static Task<Verification> Inspect(byte[] zip) => ArchiveInspection.RunAsync(new MemoryStream(zip), null, CancellationToken.None);

    [Fact]
    public async Task A_whole_archive_has_nothing_to_say()
    {
        var verified = await Inspect(await sample.WriteAsync(Kettle()));
        Assert.Empty(verified.Discrepancies);
        Assert.Equal(7, verified.Files);
    }

    /// <summary>The point of verifying: no altered byte anywhere, in bodies or records, goes unseen.</summary>
    [Fact]
    public async Task Every_single_altered_byte_is_found()
    {
        var whole = await sample.WriteAsync(Kettle());
        for (var i = 0; i < whole.Length; i++)
        {
            var altered = (byte[])whole.Clone();
            altered[i] ^= 0x10;
            Assert.True((await Inspect(altered)).Discrepancies.Count > 0, $"byte {i} of {whole.Length}");
        }
    }

    [Fact]
    public async Task Every_cut_is_found()
    {
        var whole = await sample.WriteAsync(Kettle());
        for (var length = 0; length < whole.Length; length += 7)
            Assert.NotEmpty((await Inspect(whole[..length])).Discrepancies);
    }

    [Fact]
    public async Task An_altered_recording_is_named()
    {
        var recipe = Kettle();
        var whole = await sample.WriteAsync(recipe);
        var body = whole.AsSpan().IndexOf(new byte[] { 1, 2, 3, 4, 5 });
        whole[body] = 9;
        var found = Assert.Single((await Inspect(whole)).Discrepancies);
        Assert.Equal((DiscrepancyKind.Altered, "Mended Kettle/Samples/C4.wav"), (found.Kind, found.Path));
    }

    [Fact]
    public async Task Files_exchanged_with_their_sums_missing_extra_and_renamed_are_told_apart()
    {
        // Records and CRCs are right here, only the list inside says otherwise.
        var recipe = Kettle();
        var other = new Recipe("Mended Kettle", Recipe.Undated,
        [
            .. recipe.Entries.Where(e => e.Inline.Length > 0),
            sample.Blob("Samples/C4.wav", [5, 4, 3, 2, 1]), sample.Blob("key.sfz", [7, 7]), sample.Blob("added.wav", [8]),
        ]);
        var found = (await Inspect(await sample.WriteAsync(other))).Discrepancies;
        Assert.Equal(
        [
            (DiscrepancyKind.Altered, "Mended Kettle/Samples/C4.wav"), (DiscrepancyKind.Extra, "Mended Kettle/added.wav"),
            (DiscrepancyKind.Missing, "Mended Kettle/empty.wav"), (DiscrepancyKind.Renamed, "Mended Kettle/k.sfz"),
        ], found.Select(d => (d.Kind, d.Path!)));
        Assert.Contains("key.sfz", found[3].Message);
    }

    [Fact]
    public async Task A_zip_of_another_program_is_read_and_told_to_be_packed_anew()
    {
        var recipe = Kettle();
        using var packed = new MemoryStream();
        using (var zip = new ZipArchive(packed, ZipArchiveMode.Create, leaveOpen: true))
        {
            foreach (var entry in recipe.Entries)
            {
                using var body = zip.CreateEntry(recipe.PathInArchive(entry), CompressionLevel.SmallestSize).Open();
                if (entry.Sha256 is { } sha256)
                    sample.Open(sha256).CopyTo(body);
                else
                    body.Write(entry.Inline.Span);
            }
        }
        var found = Assert.Single((await Inspect(packed.ToArray())).Discrepancies);
        Assert.Equal(DiscrepancyKind.Structure, found.Kind);
        Assert.StartsWith("Every file is whole", found.Message);
    }

    [Fact]
    public async Task Names_that_climb_out_and_a_missing_list_are_told()
    {
        using var packed = new MemoryStream();
        using (var zip = new ZipArchive(packed, ZipArchiveMode.Create, leaveOpen: true))
            zip.CreateEntry("../../evil.sh").Open().Dispose();
        Assert.Equal(
            [DiscrepancyKind.UnsafeName, DiscrepancyKind.Checksums, DiscrepancyKind.Structure],
            (await Inspect(packed.ToArray())).Discrepancies.Select(d => d.Kind));
    }

    [Fact]
    public async Task What_is_no_zip_is_told() =>
        Assert.Equal(DiscrepancyKind.Structure, Assert.Single((await Inspect("no zip at all"u8.ToArray())).Discrepancies).Kind);
}
