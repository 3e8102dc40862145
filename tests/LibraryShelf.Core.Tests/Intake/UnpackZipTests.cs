using System.IO.Compression;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Intake;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Intake.IntakeBench;

namespace LibraryShelf.Core.Tests.Intake;

public sealed class UnpackZipTests : IDisposable
{
    private static readonly byte[] A = Bytes("the kettle, low");
    private readonly IntakeBench bench = new();

    public void Dispose() => bench.Dispose();

    [Fact]
    public async Task The_files_are_the_draft_without_the_folder_around_them_and_without_droppings()
    {
        await bench.SendAsync("old.wav", A);
        var id = await ZipAsync(("Kettle/", []), ("Kettle/low/a.wav", A), ("Kettle/kettle.sfz", Bytes("<region>")), ("__MACOSX/Kettle/._a.wav", A), ("Kettle/.DS_Store", A));
        Assert.Equal(new UnpackOutcome.Unpacked(bench.ReleaseId), await bench.UnpackAsync(id));
        var manifest = await bench.ManifestAsync();
        Assert.Equal(["kettle.sfz", "low/a.wav"], manifest.Keys.Order(StringComparer.Ordinal));
        Assert.Equal(Hash(A), manifest["low/a.wav"]);
        await using var db = bench.Db();
        Assert.Equal(2, await db.BlobClaims.CountAsync(c => manifest.Values.Contains(c.Sha256)));
        Assert.Equal(new UnpackOutcome.Unpacked(bench.ReleaseId), await bench.UnpackAsync(id));
    }

    [Fact]
    public async Task Two_folders_at_the_top_both_stay()
    {
        await bench.UnpackAsync(await ZipAsync(("low/a.wav", A), ("high/a.wav", A)));
        Assert.Equal(["high/a.wav", "low/a.wav"], (await bench.ManifestAsync()).Keys.Order(StringComparer.Ordinal));
    }

    [Theory]
    [InlineData("../a.wav")]
    [InlineData("Kettle/../../a.wav")]
    [InlineData("/a.wav")]
    [InlineData("C:\\a.wav")]
    [InlineData("low\\a.wav")]
    [InlineData("../")]
    public async Task A_path_that_leaves_the_folder_refuses_the_whole_zip(string path)
    {
        var trouble = await TroubleAsync(await ZipAsync(("fine.wav", A), (path, path.EndsWith('/') ? [] : A)));
        Assert.Contains("kettle.zip", trouble, StringComparison.Ordinal);
        Assert.Contains(path.TrimEnd('/'), trouble, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_link_is_refused()
    {
        // S_IFLNK | 0777 in the upper half (stat.h, APPNOTE 4.4.15).
        var id = await SendZipAsync(zip =>
        {
            var entry = zip.CreateEntry("a.wav");
            entry.ExternalAttributes = unchecked((int)0xA1FF0000);
            using var stream = entry.Open();
            stream.Write(Bytes("/etc/passwd"));
        });
        Assert.Contains("a.wav is a link", await TroubleAsync(id), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_zip_that_unfolds_without_end_is_stopped_at_the_limit()
    {
        bench.Settings.Intake.MaxReleaseBytes = 100_000;
        var id = await ZipAsync(("a.wav", new byte[60_000]), ("b.wav", new byte[60_000]));
        Assert.Contains("b.wav unfolds to more", await TroubleAsync(id), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_damaged_file_is_named()
    {
        var bytes = Zip(zip => Add(zip, "a.wav", A, CompressionLevel.NoCompression));
        var at = bytes.AsSpan().IndexOf(A);
        bytes[at]++;
        Assert.Contains("a.wav", await TroubleAsync(await SentAsync(bytes)), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_is_no_zip_is_said_to_be_none() =>
        Assert.Contains("can’t be read as a zip", await TroubleAsync(await SentAsync(Bytes("this is a text, no zip at all"))), StringComparison.Ordinal);

    [Fact]
    public async Task A_zip_cut_short_is_refused()
    {
        var whole = Zip(zip => Add(zip, "a.wav", A, CompressionLevel.NoCompression));
        await TroubleAsync(await SentAsync(whole[..^30]));
    }

    [Fact]
    public async Task An_empty_zip_is_refused() => await TroubleAsync(await ZipAsync(("Kettle/", [])));

    [Fact]
    public async Task The_same_path_twice_is_refused() =>
        Assert.Contains("a.wav is in it twice", await TroubleAsync(await ZipAsync(("a.wav", A), ("a.wav", Bytes("other")))), StringComparison.Ordinal);

    [Fact]
    public async Task Sealed_meanwhile_it_is_refused()
    {
        var id = await ZipAsync(("a.wav", A));
        await bench.SetStateAsync(ReleaseState.Checked, ReleaseState.Sealed);
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(id));
        Assert.Empty(await bench.ManifestAsync());
    }

    [Fact]
    public async Task What_a_crash_left_standing_is_found_until_it_is_tidied_up()
    {
        var id = await ZipAsync(("a.wav", A));
        Assert.Equal([id], await WaitingAsync());
        await bench.UnpackAsync(id);
        Assert.Equal([id], await WaitingAsync());
        await using var db = bench.Db();
        await new ClearUpload(db, bench.Desk).RunAsync(id, CancellationToken.None);
        Assert.Empty(await WaitingAsync());
    }

    private async Task<IReadOnlyList<string>> WaitingAsync()
    {
        await using var db = bench.Db();
        return await new FindWaitingZips(db, bench.Desk).RunAsync(CancellationToken.None);
    }

    /// <summary>Expects a refusal that leaves the draft as it was, and answers its words.</summary>
    private async Task<string> TroubleAsync(string id)
    {
        var before = await bench.ManifestAsync();
        Assert.IsType<UnpackOutcome.Refused>(await bench.UnpackAsync(id));
        Assert.Equal(before, await bench.ManifestAsync());
        await using var db = bench.Db();
        var trouble = (await db.Uploads.SingleAsync(u => u.Id == id)).Trouble!;
        // Where the maker reads it, also without script.
        Assert.Equal(trouble, (await db.Releases.SingleAsync(r => r.Id == bench.ReleaseId)).Trouble);
        return trouble;
    }

    private Task<string> ZipAsync(params (string Path, byte[] Bytes)[] entries) => SendZipAsync(zip =>
    {
        foreach (var (path, bytes) in entries)
            Add(zip, path, bytes, CompressionLevel.Fastest);
    });

    private Task<string> SendZipAsync(Action<ZipArchive> fill) => SentAsync(Zip(fill));

    private async Task<string> SentAsync(byte[] zip)
    {
        var id = await bench.StartedAsync("kettle.zip", zip.Length, null, UploadKind.Zip);
        Assert.True(Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(id, 0, zip)).Unpack);
        return id;
    }

    private static byte[] Zip(Action<ZipArchive> fill)
    {
        using var stream = new MemoryStream();
        using (var zip = new ZipArchive(stream, ZipArchiveMode.Create, leaveOpen: true))
            fill(zip);
        return stream.ToArray();
    }

    private static void Add(ZipArchive zip, string path, byte[] bytes, CompressionLevel level)
    {
        using var stream = zip.CreateEntry(path, level).Open();
        stream.Write(bytes);
    }
}
