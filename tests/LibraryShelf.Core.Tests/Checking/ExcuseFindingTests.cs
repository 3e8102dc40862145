using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Checking.CheckBench;

namespace LibraryShelf.Core.Tests.Checking;

public sealed class ExcuseFindingTests
{
    private static readonly byte[] Silence = Wav(0, 0, 0);
    private static readonly byte[] OtherSilence = Wav(0, 0, 0, 0);

    [Fact]
    public async Task An_excused_must_fix_no_longer_holds_up_sealing()
    {
        await using var bench = await MakeAsync();
        var (id, entry) = await CheckedAsync(bench);
        Assert.IsType<ExcuseFindingOutcome.Excused>(await bench.ExcuseAsync(id, entry.Id, "  a rest on purpose "));
        var after = (await bench.SheetAsync(id)).Single(e => e.Id == entry.Id);
        Assert.Equal(("a rest on purpose", bench.Shelf.Clock.GetUtcNow()), (after.ExcuseReason, after.ExcusedAt));
        Assert.False(after.BlocksSealing);
    }

    [Theory]
    [InlineData(null)]
    [InlineData("   ")]
    public async Task A_reason_is_required(string? reason)
    {
        await using var bench = await MakeAsync();
        var (id, entry) = await CheckedAsync(bench);
        var refused = Assert.IsType<ExcuseFindingOutcome.Refused>(await bench.ExcuseAsync(id, entry.Id, reason));
        Assert.Equal("Reason", refused.Refusal.Field);
        Assert.IsType<ExcuseFindingOutcome.Refused>(await bench.ExcuseAsync(id, entry.Id, new string('x', ExcuseFinding.MaxReasonLength + 1)));
    }

    [Fact]
    public async Task Another_releases_finding_and_a_sealed_release_are_left_alone()
    {
        await using var bench = await MakeAsync();
        var (id, entry) = await CheckedAsync(bench);
        Assert.IsType<ExcuseFindingOutcome.NoSuchFinding>(await bench.ExcuseAsync(id + 1, entry.Id, "no"));
        await using var db = bench.Open();
        var release = await db.Releases.SingleAsync(r => r.Id == id);
        release.MoveTo(ReleaseState.Sealed, bench.Shelf.Clock.GetUtcNow());
        await db.SaveChangesAsync();
        Assert.IsType<ExcuseFindingOutcome.Refused>(await bench.ExcuseAsync(id, entry.Id, "no"));
        Assert.Null((await bench.SheetAsync(id)).Single(e => e.Id == entry.Id).ExcuseReason);
    }

    [Fact]
    public async Task An_excuse_holds_for_the_same_bytes_and_no_others()
    {
        await using var bench = await MakeAsync();
        var (id, entry) = await CheckedAsync(bench);
        await bench.ExcuseAsync(id, entry.Id, "on purpose");

        await bench.ReopenAsync(id);
        await bench.PutAsync(id, "more.txt", Text("more"));
        Assert.Equal(0, (await bench.CheckAsync(id)).MustFix);
        Assert.Equal("on purpose", (await SilentAsync(bench, id)).ExcuseReason);

        await bench.ReopenAsync(id);
        await bench.PutAsync(id, "A3.wav", OtherSilence);
        Assert.Equal(1, (await bench.CheckAsync(id)).MustFix);
        Assert.Null((await SilentAsync(bench, id)).ExcuseReason);
    }

    [Fact]
    public async Task An_excuse_goes_on_in_the_next_version_at_the_same_path_only()
    {
        await using var bench = await MakeAsync();
        var (id, entry) = await CheckedAsync(bench);
        await bench.ExcuseAsync(id, entry.Id, "on purpose");
        var next = await bench.DraftAsync("1.1.0", ("A3.wav", Silence), ("B3.wav", Silence));
        Assert.Equal(1, (await bench.CheckAsync(next)).MustFix);
        var sheet = (await bench.SheetAsync(next)).Where(e => e.Code == FindingCodes.RecordingSilent).ToDictionary(e => e.Path!, e => e.ExcuseReason, StringComparer.Ordinal);
        Assert.Equal("on purpose", sheet["A3.wav"]);
        Assert.Null(sheet["B3.wav"]);
    }

    [Theory]
    [InlineData("moved/A3.wav")]
    [InlineData("Salt Jar A3.wav")]
    public async Task An_excuse_follows_the_recording_where_it_is_moved_or_renamed(string path)
    {
        await using var bench = await MakeAsync();
        var (id, entry) = await CheckedAsync(bench);
        await bench.ExcuseAsync(id, entry.Id, "on purpose");
        var next = await bench.DraftAsync("1.1.0", (path, Silence), ("A3.wav", OtherSilence));
        Assert.Equal(1, (await bench.CheckAsync(next)).MustFix);
        var sheet = (await bench.SheetAsync(next)).Where(e => e.Code == FindingCodes.RecordingSilent).ToDictionary(e => e.Path!, e => e.ExcuseReason, StringComparer.Ordinal);
        Assert.Equal("on purpose", sheet[path]);
        Assert.Null(sheet["A3.wav"]);
    }

    [Fact]
    public async Task An_excused_name_is_not_excused_under_another_name()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A:3.wav", Wav(1, 2)));
        await bench.CheckAsync(id);
        var named = (await bench.SheetAsync(id)).Single(e => e.Code == FindingCodes.NameUnportable);
        await bench.ExcuseAsync(id, named.Id, "only for one system");
        var next = await bench.DraftAsync("1.1.0", ("B:3.wav", Wav(1, 2)));
        Assert.Equal(1, (await bench.CheckAsync(next)).MustFix);
    }

    [Fact]
    public async Task Of_several_findings_about_one_mapping_only_the_excused_one_stays_excused()
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Wav(1, 2)), ("x.sfz", Text("<region> sample=A3.wav\n<region> sample=b.wav\n<region> sample=c.wav")));
        Assert.Equal(2, (await bench.CheckAsync(id)).MustFix);
        var about = (await bench.SheetAsync(id)).Single(e => e.Message.Contains("c.wav", StringComparison.Ordinal));
        await bench.ExcuseAsync(id, about.Id, "comes later");
        await bench.ReopenAsync(id);
        Assert.Equal(1, (await bench.CheckAsync(id)).MustFix);
        Assert.Equal("comes later", (await bench.SheetAsync(id)).Single(e => e.Message.Contains("c.wav", StringComparison.Ordinal)).ExcuseReason);
    }

    [Theory]
    [InlineData("b.wav", 2)]
    [InlineData("c.wav", 3)]
    public async Task An_excuse_stays_with_its_line_of_a_mapping_when_the_shelf_speaks_another_language(string file, int line)
    {
        await using var bench = await MakeAsync();
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Wav(1, 2)), ("x.sfz", Text("<region> sample=A3.wav\n<region> sample=b.wav\n<region> sample=c.wav")));
        await bench.CheckAsync(id);
        var entry = (await bench.SheetAsync(id)).Single(e => e.Message.Contains(file, StringComparison.Ordinal));
        await bench.ExcuseAsync(id, entry.Id, "comes later");
        await SayAsync(bench, entry.Id, $"In der Zeile {line} wird „{file}“ gespielt; diese Aufnahme fehlt.");
        await bench.ReopenAsync(id);
        Assert.Equal(1, (await bench.CheckAsync(id)).MustFix);
        Assert.Equal("comes later", (await bench.SheetAsync(id)).Single(e => e.Message.Contains(file, StringComparison.Ordinal)).ExcuseReason);
    }

    [Theory]
    [InlineData("Abtastraten sind verschieden: 44100 Hz in 2 Aufnahmen; 48000 Hz in 1 Aufnahme (C3.wav).", true)]
    [InlineData("Abtastraten sind verschieden: 44100 Hz in 3 Aufnahmen; 48000 Hz in 1 Aufnahme (C3.wav).", false)]
    [InlineData("Abtastraten sind verschieden: 44100 Hz in 2 Aufnahmen; 48000 Hz in 1 Aufnahme (D3.wav).", false)]
    public async Task One_about_the_whole_library_holds_while_the_same_is_said_in_whatever_language(string before, bool holds)
    {
        await using var bench = await MakeAsync();
        var other = Wav(1, 2);
        BitConverter.TryWriteBytes(other.AsSpan(24), 48000);
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Wav(1, 2)), ("B3.wav", Wav(1, 3)), ("C3.wav", other));
        await bench.CheckAsync(id);
        var entry = (await bench.SheetAsync(id)).Single(e => e.Code == FindingCodes.RatesDiffer);
        await bench.ExcuseAsync(id, entry.Id, "meant so");
        await SayAsync(bench, entry.Id, before);
        await bench.ReopenAsync(id);
        await bench.CheckAsync(id);
        Assert.Equal(holds ? "meant so" : null, (await bench.SheetAsync(id)).Single(e => e.Code == FindingCodes.RatesDiffer).ExcuseReason);
    }

    /// <summary>As it would stand there if the shelf had spoken another language.</summary>
    private static async Task SayAsync(CheckBench bench, long entryId, string message)
    {
        await using var db = bench.Open();
        await db.SheetEntries.Where(e => e.Id == entryId).ExecuteUpdateAsync(e => e.SetProperty(x => x.Message, message));
    }

    private static async Task<(long Id, SheetEntry Entry)> CheckedAsync(CheckBench bench)
    {
        var id = await bench.DraftAsync("1.0.0", ("A3.wav", Silence));
        await bench.CheckAsync(id);
        return (id, await SilentAsync(bench, id));
    }

    private static async Task<SheetEntry> SilentAsync(CheckBench bench, long id) =>
        (await bench.SheetAsync(id)).Single(e => e.Code == FindingCodes.RecordingSilent);
}
