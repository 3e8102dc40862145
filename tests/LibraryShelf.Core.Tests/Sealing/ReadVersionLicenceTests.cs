using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Tests.Publishing;

namespace LibraryShelf.Core.Tests.Sealing;

public sealed class ReadVersionLicenceTests
{
    private static Task<VersionLicence?> ReadAsync(OutBench bench, string number, long? personId = null) => bench.WithAsync(
        db => new ReadVersionLicence(db, bench.Bench.Store, bench.Bench.Shelf.Clock).RunAsync("kettle", number, personId, default));

    [Fact]
    public async Task A_later_licence_never_changes_an_earlier_version()
    {
        await using var bench = await OutBench.MakeAsync();
        await bench.PublishedAsync("1.0.0");
        var before = (await ReadAsync(bench, "1.0.0"))!;
        Assert.Contains("SPDX-License-Identifier: CC-BY-4.0", before.Text, StringComparison.Ordinal);

        var next = await bench.Bench.CheckedAsync("1.1.0", ("LICENCE.txt", "a file of hers"));
        await bench.Bench.ChangeAsync(next, r => (r.LicenceSpdx, r.LicenceText) = (null, "For <lullabies> only."));
        await bench.Bench.SealedAsync(next);
        await bench.PublishAsync(next);
        // Rows written over by hand do not reach what was sealed either.
        await bench.Bench.ChangeAsync(next, r => r.LicenceText = "Anything.");
        Assert.Equal(before.Text, (await ReadAsync(bench, "1.0.0"))!.Text);
        var later = (await ReadAsync(bench, "1.1.0"))!;
        Assert.Contains("For <lullabies> only.", later.Text, StringComparison.Ordinal);
        Assert.DoesNotContain("CC-BY-4.0", later.Text, StringComparison.Ordinal);
        Assert.Equal("LICENCE.shelf.txt", later.FileName); // hers keeps the name
    }

    [Fact]
    public async Task Who_may_see_the_version_may_read_it()
    {
        await using var bench = await OutBench.MakeAsync();
        var id = await bench.SealedAsync("1.0.0");
        var wren = await bench.PersonAsync("wren@post.example");
        Assert.Null(await ReadAsync(bench, "1.0.0", wren));
        await bench.EarlyAsync(id, "wren@post.example");
        Assert.NotNull(await ReadAsync(bench, "1.0.0", wren));
        Assert.Null(await ReadAsync(bench, "1.0.0"));
        await bench.PublishAsync(id, Audience.Members);
        Assert.NotNull(await ReadAsync(bench, "1.0.0"));
        await bench.WithdrawAsync(id);
        Assert.NotNull(await ReadAsync(bench, "1.0.0")); // what they took goes on under it
        Assert.Null(await ReadAsync(bench, "1.0"));
    }
}
