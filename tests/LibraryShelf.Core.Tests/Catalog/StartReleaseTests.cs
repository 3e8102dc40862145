using LibraryShelf.Core.Catalog;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Catalog;

public sealed class StartReleaseTests
{
    [Fact]
    public async Task The_first_release_is_1_0_0()
    {
        await using var shelf = await ShelfWithLibraryAsync();
        var started = Assert.IsType<StartReleaseOutcome.Started>(await StartAsync(shelf));
        Assert.Equal("1.0.0", started.Number);
    }

    [Fact]
    public async Task One_draft_is_open_at_a_time()
    {
        await using var shelf = await ShelfWithLibraryAsync();
        var first = Assert.IsType<StartReleaseOutcome.Started>(await StartAsync(shelf));
        var again = Assert.IsType<StartReleaseOutcome.AlreadyOpen>(await StartAsync(shelf, "3.0.0"));
        Assert.Equal(first.ReleaseId, again.ReleaseId);
    }

    [Fact]
    public async Task Two_starts_at_the_same_moment_make_one_draft()
    {
        await using var shelf = await ShelfWithLibraryAsync();
        var outcomes = await Task.WhenAll(StartAsync(shelf), StartAsync(shelf), StartAsync(shelf));
        Assert.Single(outcomes.OfType<StartReleaseOutcome.Started>());
        Assert.Equal(2, outcomes.OfType<StartReleaseOutcome.AlreadyOpen>().Count());
    }

    [Fact]
    public async Task The_next_draft_takes_over_players_licence_and_credits_but_not_the_notes()
    {
        await using var shelf = await ShelfWithLibraryAsync();
        await StartAsync(shelf);
        await SealOpenDraftAsync(shelf, release =>
        {
            release.Notes = "First jars.";
            release.LicenceSpdx = "CC-BY-4.0";
            release.Credits = "Recorded in a kitchen.";
            release.Players.Add(new ReleasePlayer { Name = "Rushlight", LowestVersion = "5", Order = 1 });
            release.Players.Add(new ReleasePlayer { Name = "Pondskater", LowestVersion = "2.3", HowToInstall = "Drop it in.", Order = 0 });
        });
        var started = Assert.IsType<StartReleaseOutcome.Started>(await StartAsync(shelf));

        await using var db = shelf.Open();
        var draft = await db.Releases.Include(r => r.Players).SingleAsync(r => r.Id == started.ReleaseId);
        Assert.Equal("1.1.0", draft.Number);
        Assert.Equal(("CC-BY-4.0", "Recorded in a kitchen.", ""), (draft.LicenceSpdx, draft.Credits, draft.Notes));
        Assert.Equal(["Pondskater 2.3 Drop it in.", "Rushlight 5 "],
            draft.Players.OrderBy(p => p.Order).Select(p => $"{p.Name} {p.LowestVersion} {p.HowToInstall}"));
    }

    [Theory]
    [InlineData("1.0", "not a version number")]
    [InlineData("01.0.0", "not a version number")]
    [InlineData("1.0.0", "already there")]
    // Build metadata does not count for precedence: SemVer 2.0.0, rule 10.
    [InlineData("1.0.0+mended", "already there")]
    public async Task A_wrong_number_is_refused_with_the_next_free_one(string number, string words)
    {
        await using var shelf = await ShelfWithLibraryAsync();
        await StartAsync(shelf);
        await SealOpenDraftAsync(shelf, _ => { });
        var refused = Assert.IsType<StartReleaseOutcome.Refused>(await StartAsync(shelf, number));
        Assert.Contains(words, refused.Refusal.Words, StringComparison.Ordinal);
        Assert.Contains("1.1.0", refused.Refusal.Words, StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_proposed_number_follows_precedence_not_the_alphabet()
    {
        await using var shelf = await ShelfWithLibraryAsync();
        foreach (var number in new[] { "1.9.0", "1.10.0" })
        {
            await StartAsync(shelf, number);
            await SealOpenDraftAsync(shelf, _ => { });
        }
        Assert.Equal("1.11.0", Assert.IsType<StartReleaseOutcome.Started>(await StartAsync(shelf)).Number);
    }

    [Fact]
    public async Task An_unknown_library_is_said_so()
    {
        await using var shelf = await TempShelf.MakeAsync();
        Assert.IsType<StartReleaseOutcome.NoSuchLibrary>(await StartAsync(shelf));
    }

    private static async Task<TempShelf> ShelfWithLibraryAsync()
    {
        var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        db.Libraries.Add(new Library { Slug = "jam", Title = "Jam-jar Marimba", CreatedAt = shelf.Clock.GetUtcNow() });
        await db.SaveChangesAsync();
        return shelf;
    }

    private static async Task<StartReleaseOutcome> StartAsync(TempShelf shelf, string? number = null)
    {
        await using var db = shelf.Open();
        return await new StartRelease(db, shelf.Clock).RunAsync("jam", number, CancellationToken.None);
    }

    private static async Task SealOpenDraftAsync(TempShelf shelf, Action<Release> edit)
    {
        await using var db = shelf.Open();
        var release = await db.Releases.SingleAsync(r => r.SealedAt == null);
        edit(release);
        Assert.True(release.MoveTo(ReleaseState.Checked, shelf.Clock.GetUtcNow()));
        Assert.True(release.MoveTo(ReleaseState.Sealed, shelf.Clock.GetUtcNow()));
        await db.SaveChangesAsync();
    }
}
