using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;
using Microsoft.EntityFrameworkCore;
using static LibraryShelf.Core.Tests.Intake.IntakeBench;

namespace LibraryShelf.Core.Tests.Intake;

public sealed class PlanFolderTests : IDisposable
{
    private static readonly byte[] A = Bytes("the kettle, low");
    private static readonly byte[] B = Bytes("the kettle, high");
    private readonly IntakeBench bench = new();

    public void Dispose() => bench.Dispose();

    [Fact]
    public async Task The_plan_is_the_manifest_and_only_missing_bytes_are_wanted()
    {
        await bench.SendAsync("a.wav", A);
        var planned = Assert.IsType<PlanOutcome.Planned>(await bench.PlanAsync(Line("low/a.wav", A), Line("b.wav", B), Line("copy of b.wav", B)));
        Assert.Equal("b.wav", Assert.Single(planned.Wanted).Path);
        Assert.Equal(3, planned.Files);
        Assert.Equal(["b.wav", "copy of b.wav", "low/a.wav"], (await bench.ManifestAsync()).Keys.Order(StringComparer.Ordinal));
    }

    [Fact]
    public async Task What_the_shelf_holds_is_claimed_for_the_draft()
    {
        await bench.SendAsync("a.wav", A);
        await using var db = bench.Db();
        await db.BlobClaims.ExecuteDeleteAsync();
        await bench.PlanAsync(Line("a.wav", A), Line("b.wav", B));
        Assert.Equal([Hash(A)], await db.BlobClaims.Where(c => c.ReleaseId == bench.ReleaseId).Select(c => c.Sha256).ToListAsync());
    }

    [Fact]
    public async Task The_same_folder_again_wants_nothing()
    {
        await bench.PlanAsync(Line("a.wav", A), Line("b.wav", B));
        await bench.AppendAsync(await bench.StartedAsync("a.wav", A.Length, Hash(A)), 0, A);
        await bench.AppendAsync(await bench.StartedAsync("b.wav", B.Length, Hash(B)), 0, B);
        var again = Assert.IsType<PlanOutcome.Planned>(await bench.PlanAsync(Line("a.wav", A), Line("b.wav", B)));
        Assert.Empty(again.Wanted);
    }

    [Fact]
    public async Task Files_no_longer_in_the_folder_leave_the_manifest()
    {
        await bench.PlanAsync(Line("a.wav", A), Line("b.wav", B));
        await bench.PlanAsync(Line("a.wav", B));
        Assert.Equal(Hash(B), Assert.Single(await bench.ManifestAsync()).Value);
    }

    [Fact]
    public async Task A_file_without_a_hash_is_always_wanted()
    {
        var planned = Assert.IsType<PlanOutcome.Planned>(await bench.PlanAsync(new PlannedFile("a.wav", 15, null)));
        Assert.Null(Assert.Single(planned.Wanted).Sha256);
        Assert.Equal(ReleaseFile.NotKnownYet, Assert.Single(await bench.ManifestAsync()).Value);
    }

    [Fact]
    public async Task A_file_without_a_hash_counts_as_missing_until_it_has_come()
    {
        await bench.PlanAsync(new PlannedFile("a.wav", A.Length, null), new PlannedFile("b.wav", B.Length, null));
        await bench.SendAsync("a.wav", A);
        Assert.Equal(1, Assert.IsType<AskForCheckOutcome.StillOnTheWay>(await AskAsync()).Files);
        await bench.SendAsync("b.wav", B);
        Assert.IsType<AskForCheckOutcome.Asked>(await AskAsync());
        Assert.Equal(Hash(B), (await bench.ManifestAsync())["b.wav"]);
    }

    private async Task<AskForCheckOutcome> AskAsync()
    {
        await using var db = bench.Db();
        return await new AskForCheck(db, TimeProvider.System).RunAsync(bench.ReleaseId, CancellationToken.None);
    }

    [Fact]
    public async Task A_begun_upload_is_gone_on_with_and_an_unwanted_one_is_ended()
    {
        await bench.PlanAsync(Line("a.wav", A), Line("b.wav", B));
        var a = await bench.StartedAsync("a.wav", A.Length, Hash(A));
        var b = await bench.StartedAsync("b.wav", B.Length, Hash(B));
        await bench.AppendAsync(a, 0, A[..4]);
        await bench.AppendAsync(b, 0, B[..4]);
        var planned = Assert.IsType<PlanOutcome.Planned>(await bench.PlanAsync(Line("a.wav", A)));
        Assert.Equal(a, Assert.Single(planned.Wanted).UploadId);
        Assert.IsType<UploadOutcome.NoSuchUpload>(await bench.ReadAsync(b));
        Assert.False(bench.Desk.HasBytes(b));
    }

    [Fact]
    public async Task Another_sender_of_the_same_file_without_a_hash_is_not_cut_off_and_the_later_one_stands()
    {
        var (first, second) = (Bytes("one take, low"), Bytes("one take, LOW"));
        var plan = new PlannedFile("a.wav", first.Length, null);
        await bench.PlanAsync(plan);
        var one = await bench.StartedAsync("a.wav", first.Length);
        await bench.AppendAsync(one, 0, first[..4]);
        File.SetLastWriteTimeUtc(Path.Combine(bench.Paths.Uploads, one), bench.Clock.GetUtcNow().UtcDateTime);
        bench.Clock.Advance(TimeSpan.FromMinutes(1));

        // The second browser gets an upload of its own: without a hash nobody knows whether both mean the same bytes.
        var planned = Assert.IsType<PlanOutcome.Planned>(await bench.PlanAsync(plan));
        Assert.Null(Assert.Single(planned.Wanted).UploadId);
        var two = await bench.StartedAsync("a.wav", second.Length);
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(one, 4, first[4..]));
        Assert.Equal(first, await bench.BytesOfAsync("a.wav"));
        Assert.IsType<UploadOutcome.Finished>(await bench.AppendAsync(two, 0, second));
        Assert.Equal(second, await bench.BytesOfAsync("a.wav"));
    }

    [Fact]
    public async Task One_that_was_left_standing_is_ended_by_the_next_plan()
    {
        var plan = new PlannedFile("a.wav", 9, null);
        await bench.PlanAsync(plan);
        var left = await bench.StartedAsync("a.wav", 9);
        await bench.AppendAsync(left, 0, Bytes("half"));
        File.SetLastWriteTimeUtc(Path.Combine(bench.Paths.Uploads, left), bench.Clock.GetUtcNow().UtcDateTime);
        bench.Clock.Advance(PlanFolder.StillSent);
        await bench.PlanAsync(plan);
        Assert.IsType<UploadOutcome.NoSuchUpload>(await bench.AppendAsync(left, 4, Bytes("other")));
    }

    [Fact]
    public async Task A_checked_release_is_a_draft_again()
    {
        await bench.SetStateAsync(ReleaseState.Checked);
        var before = (await bench.ReleaseAsync()).Revision;
        await bench.PlanAsync(Line("a.wav", A));
        var release = await bench.ReleaseAsync();
        Assert.Equal(ReleaseState.Draft, release.State);
        Assert.True(release.Revision > before);
    }

    [Fact]
    public async Task A_sealed_release_takes_nothing()
    {
        await bench.PlanAsync(Line("a.wav", A));
        await bench.SetStateAsync(ReleaseState.Checked, ReleaseState.Sealed);
        var closed = Assert.IsType<PlanOutcome.Closed>(await bench.PlanAsync(Line("b.wav", B)));
        Assert.Contains("1.0.0", closed.Message, StringComparison.Ordinal);
        Assert.Equal(["a.wav"], (await bench.ManifestAsync()).Keys);
    }

    [Theory]
    [InlineData("../a.wav")]
    [InlineData("/a.wav")]
    [InlineData("C:/a.wav")]
    [InlineData("low\\a.wav")]
    [InlineData("low//a.wav")]
    [InlineData("")]
    public async Task A_path_that_leaves_the_folder_is_refused_and_the_draft_stays(string path)
    {
        await bench.PlanAsync(Line("a.wav", A));
        Assert.IsType<PlanOutcome.Refused>(await bench.PlanAsync(Line("fine.wav", B), Line(path, A)));
        Assert.Equal(["a.wav"], (await bench.ManifestAsync()).Keys);
    }

    [Fact]
    public async Task Refusals_name_the_file()
    {
        bench.Settings.Intake.MaxUploadBytes = 1024;
        bench.Settings.Intake.MaxReleaseBytes = 2048;
        bench.Settings.Intake.MaxFiles = 3;
        Assert.Contains("big.wav", await RefusedAsync(new PlannedFile("big.wav", 1025, null)), StringComparison.Ordinal);
        Assert.Contains("2,049", await RefusedAsync(new("a", 1024, null), new("b", 1024, null), new("c", 1, null)), StringComparison.Ordinal);
        Assert.Contains("4 files", await RefusedAsync(new("a", 1, null), new("b", 1, null), new("c", 1, null), new("d", 1, null)), StringComparison.Ordinal);
        Assert.Contains("a.wav", await RefusedAsync(Line("a.wav", A), Line("a.wav", B)), StringComparison.Ordinal);
        Assert.Contains("b.wav", await RefusedAsync(Line("a.wav", A), new PlannedFile("b.wav", 3, Hash(A))), StringComparison.Ordinal);
        Assert.Contains("a.wav", await RefusedAsync(new PlannedFile("a.wav", 3, "ABC")), StringComparison.Ordinal);
        Assert.Contains("no files", await RefusedAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_size_that_does_not_belong_to_a_held_hash_is_refused()
    {
        await bench.SendAsync("a.wav", A);
        Assert.Contains("a.wav", await RefusedAsync(new PlannedFile("a.wav", 3, Hash(A))), StringComparison.Ordinal);
    }

    private async Task<string> RefusedAsync(params PlannedFile[] files) => Assert.IsType<PlanOutcome.Refused>(await bench.PlanAsync(files)).Message;
}
