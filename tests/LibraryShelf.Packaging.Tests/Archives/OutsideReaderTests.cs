using System.IO.Compression;
using System.Text;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Packaging.Tests.Archives;

/// <summary>Programs that are not ours read what we write.</summary>
public sealed class OutsideReaderTests
{
    /// <summary>Python's zipfile tests every CRC, then names, sizes and modes are printed as Python understood them.</summary>
    private const string PythonLists =
        "import sys, zipfile\n"
        + "z = zipfile.ZipFile(sys.argv[1])\n"
        + "assert z.testzip() is None\n"
        + "for i in z.infolist(): print(i.filename, i.file_size, oct(i.external_attr >> 16), i.flag_bits, i.compress_type, i.date_time, i.extract_version, sep='|')\n";

    [Fact]
    public async Task Unzip_zipinfo_7z_and_python_read_a_small_archive()
    {
        using var folder = new TemporaryFolder();
        var sample = new SampleArchive();
        var recipe = sample.Small();
        await File.WriteAllBytesAsync(folder.File("a.zip"), await sample.WriteAsync(recipe));

        Assert.Contains("No errors detected", OutsideTool.Run(folder.Path, "unzip", "-t", "a.zip"));
        Assert.Contains("Everything is Ok", OutsideTool.Run(folder.Path, "7z", "t", "a.zip"));
        var zipinfo = OutsideTool.Run(folder.Path, "zipinfo", "-v", "a.zip");
        Assert.Contains("Unix file attributes (100644 octal):            -rw-r--r--", zipinfo);
        Assert.Contains("compression method:                             none (stored)", zipinfo);
        Assert.DoesNotContain("extended local header:                          yes", zipinfo);
        Assert.Contains("minimum software version required to extract:   1.0", zipinfo);
        Assert.Contains("There is no zipfile comment.", zipinfo);

        var expected = recipe.Entries.Select(e =>
            $"{recipe.PathInArchive(e)}|{e.Size}|0o100644|2048|0|(1980, 1, 1, 0, 0, 0)|10");
        var python = OutsideTool.Run(folder.Path, "python3", "-c", PythonLists, "a.zip");
        Assert.Equal(expected, python.Split('\n', StringSplitOptions.RemoveEmptyEntries));
    }

    [Fact]
    public async Task The_platforms_own_reader_gets_every_byte()
    {
        var sample = new SampleArchive();
        var recipe = sample.Small();
        using var zip = new ZipArchive(new MemoryStream(await sample.WriteAsync(recipe)));
        Assert.Equal(recipe.Entries.Select(recipe.PathInArchive), zip.Entries.Select(e => e.FullName));
        foreach (var (entry, read) in recipe.Entries.Zip(zip.Entries))
        {
            await using var body = await read.OpenAsync();
            using var bytes = new MemoryStream();
            await body.CopyToAsync(bytes);
            Assert.Equal(entry.Crc32, read.Crc32);
            Assert.Equal(entry.Crc32, System.IO.Hashing.Crc32.HashToUInt32(bytes.ToArray()));
        }
    }

    [Fact]
    public async Task An_archive_of_no_files_and_a_dated_one_are_read_too()
    {
        using var folder = new TemporaryFolder();
        var sample = new SampleArchive();
        await File.WriteAllBytesAsync(folder.File("none.zip"), await sample.WriteAsync(new Recipe("T", Recipe.Undated, [])));
        Assert.Equal("", OutsideTool.Run(folder.Path, "python3", "-c", PythonLists, "none.zip"));
        var dated = new Recipe("T", new DateOnly(2107, 12, 31), [sample.Blob("f", [1])]);
        await File.WriteAllBytesAsync(folder.File("dated.zip"), await sample.WriteAsync(dated));
        Assert.Contains("(2107, 12, 31, 0, 0, 0)", OutsideTool.Run(folder.Path, "python3", "-c", PythonLists, "dated.zip"));
    }

    [Fact]
    public async Task Sixty_five_thousand_files_are_read_through_zip64()
    {
        using var folder = new TemporaryFolder();
        var entries = Enumerable.Range(0, 65_536).Select(i => RecipeEntry.FromBytes($"{i / 256:x2}/{i % 256:x2}.txt", Encoding.ASCII.GetBytes($"{i}")));
        await File.WriteAllBytesAsync(folder.File("many.zip"), await new SampleArchive().WriteAsync(new Recipe("T", Recipe.Undated, entries)));
        var lines = OutsideTool.Run(folder.Path, "python3", "-c", PythonLists, "many.zip").Split('\n', StringSplitOptions.RemoveEmptyEntries);
        Assert.Equal(65_536, lines.Length);
        Assert.StartsWith("T/ff/ff.txt|5|", lines[^1]);
        Assert.Contains("No errors detected", OutsideTool.Run(folder.Path, "unzip", "-tq", "many.zip"));
        Assert.Contains("Everything is Ok", OutsideTool.Run(folder.Path, "7z", "t", "many.zip"));
    }

    /// <summary>The big file's bytes are zeros that were never written (a sparse file), so only what lies behind them is read.</summary>
    [Fact]
    public void A_file_behind_four_gigabytes_is_found_through_zip64()
    {
        using var folder = new TemporaryFolder();
        var big = RecipeEntry.FromBlob("big.wav", 0x1_0000_0000, 0, new string('0', 64));
        var layout = new ArchiveLayout(new Recipe("T", Recipe.Undated, [big, RecipeEntry.FromBytes("behind.txt", "behind"u8.ToArray())]));
        using (var file = File.Create(folder.File("big.zip")))
        {
            foreach (var slice in layout.Slices(0, layout.Length))
            {
                if (slice.Entry is null)
                    file.Write(slice.Bytes.Span);
                else
                    file.Seek(slice.Count, SeekOrigin.Current);
            }
        }
        var zipinfo = OutsideTool.Run(folder.Path, "zipinfo", "big.zip");
        Assert.Matches("4294967296 b. stor 80-Jan-01 00:00 T/big.wav", zipinfo);
        Assert.Contains("No errors detected", OutsideTool.Run(folder.Path, "unzip", "-t", "big.zip", "T/behind.txt"));
        Assert.Contains("Everything is Ok", OutsideTool.Run(folder.Path, "7z", "t", "big.zip", "T/behind.txt"));
        Assert.Equal("4294967296 b'behind'\n", OutsideTool.Run(folder.Path, "python3", "-c",
            "import zipfile; z = zipfile.ZipFile('big.zip'); print(z.getinfo('T/big.wav').file_size, z.read('T/behind.txt'))"));
        using var zip = ZipFile.OpenRead(folder.File("big.zip"));
        Assert.Equal("behind", new StreamReader(zip.GetEntry("T/behind.txt")!.Open()).ReadToEnd());
    }
}
