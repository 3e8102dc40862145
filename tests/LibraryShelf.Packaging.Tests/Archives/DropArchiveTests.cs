using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Packaging.Tests.Archives;

public sealed class DropArchiveTests
{
    private readonly SampleArchive sample = new();

    private Recipe Library(string title, params byte[] recording) => FullArchive.Build(new FullArchiveInput
    {
        Title = title, Number = "1.0.0", Files = [sample.Blob("Samples/C4.wav", recording), sample.Blob($"{title}.sfz", [7, 7])],
    });

    [Fact]
    public async Task Unzipped_it_is_each_librarys_folder_as_its_own_archive_gives_it_and_verifies_as_whole()
    {
        using var folder = new TemporaryFolder();
        var (kettle, marimba) = (Library("Mended Kettle", 1, 2, 3), Library("Jam-jar Marimba", 4, 5));
        var month = DropArchive.Build([kettle, marimba]);
        Assert.Equal(month.Sha256, DropArchive.Build([marimba, kettle]).Sha256);
        Assert.Equal(month.Sha256, Recipe.Parse(month.CanonicalBytes).Sha256);
        var bytes = await sample.WriteAsync(month);
        await File.WriteAllBytesAsync(folder.File("month.zip"), bytes);
        await File.WriteAllBytesAsync(folder.File("kettle.zip"), await sample.WriteAsync(kettle));
        await File.WriteAllBytesAsync(folder.File("marimba.zip"), await sample.WriteAsync(marimba));
        Assert.Contains("No errors detected", OutsideTool.Run(folder.Path, "unzip", "-t", "month.zip"), StringComparison.Ordinal);
        OutsideTool.Run(folder.Path, "unzip", "-q", "month.zip", "-d", "month");
        OutsideTool.Run(folder.Path, "unzip", "-q", "kettle.zip", "-d", "single");
        OutsideTool.Run(folder.Path, "unzip", "-q", "marimba.zip", "-d", "single");
        OutsideTool.Run(folder.Path, "diff", "-r", "month", "single");

        var verified = await ArchiveInspection.RunAsync(new MemoryStream(bytes), null, CancellationToken.None);
        Assert.Empty(verified.Discrepancies);
        Assert.Equal(12, verified.Files);
        bytes[bytes.AsSpan().IndexOf(new byte[] { 1, 2, 3 })] = 9;
        var found = Assert.Single((await ArchiveInspection.RunAsync(new MemoryStream(bytes), null, CancellationToken.None)).Discrepancies);
        Assert.Equal((DiscrepancyKind.Altered, "Mended Kettle/Samples/C4.wav"), (found.Kind, found.Path));
    }

    [Fact]
    public void Two_libraries_with_one_folder_are_refused_with_words() => Assert.Contains(
        "Take them one by one", Assert.Throws<RecipeException>(() => DropArchive.Build([Library("Kettle", 1), Library("kettle", 2)])).Message, StringComparison.Ordinal);

    [Fact]
    public void Its_name_says_the_month() => Assert.Equal("Salt- and reeds 2026-12.zip", DropArchive.FileName("Salt: and reeds", "2026-12"));
}
