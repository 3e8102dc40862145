using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Tests.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Catalog;

/// <summary>Edits of libraries and unsealed releases, and that a sealed one is left as it is.</summary>
public sealed class EditTests
{
    private static readonly ReleaseWords Fine = new(" Notes. ", "CC-BY-4.0", "", "Credits.",
        [new("Pondskater", "2.3"), new(), new("Rushlight", "5", "Steps.")]);

    [Fact]
    public async Task A_releases_words_are_kept_tidied_and_empty_players_passed_over()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0");
        Assert.Empty(Assert.IsType<EditOutcome.Saved>(await EditAsync(bench, id, Fine)).Warnings);
        await using var db = bench.Shelf.Open();
        var release = await db.Releases.Include(r => r.Players).SingleAsync();
        Assert.Equal(("Notes.", "CC-BY-4.0", ReleaseState.Checked), (release.Notes, release.LicenceSpdx, release.State));
        Assert.Equal(["0 Pondskater 2.3", "1 Rushlight 5"], release.Players.OrderBy(p => p.Order).Select(p => $"{p.Order} {p.Name} {p.LowestVersion}"));
    }

    // The ids are of the SPDX list, https://spdx.org/licenses/; cc-by-4.0 and CC-BY-5.0 are not on it, "CC BY" is no id at all.
    [Theory]
    [InlineData("CC0-1.0", true, null)]
    [InlineData("CC-BY-NC-4.0", true, null)]
    [InlineData("cc-by-4.0", true, "Did you mean CC-BY-4.0?")]
    [InlineData("CC-BY-5.0", true, "not one the shelf knows")]
    [InlineData("CC BY 4.0", false, null)]
    [InlineData("CC-BY-4.0\n<script>", false, null)]
    public async Task A_licence_id_is_known_taken_with_a_warning_or_refused(string id, bool isTaken, string? warning)
    {
        await using var bench = await SealBench.MakeAsync();
        var outcome = await EditAsync(bench, await bench.CheckedAsync("1.0.0"), Fine with { LicenceSpdx = id });
        if (!isTaken)
            Assert.Equal("LicenceSpdx", Assert.Single(Assert.IsType<EditOutcome.Refused>(outcome).Refusals).Field);
        else if (warning is null)
            Assert.Empty(Assert.IsType<EditOutcome.Saved>(outcome).Warnings);
        else
            Assert.Contains(warning, Assert.Single(Assert.IsType<EditOutcome.Saved>(outcome).Warnings), StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_own_licence_in_short_is_one_line_not_too_long_and_only_beside_a_text()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0");
        var own = Fine with { LicenceSpdx = null, LicenceText = " Sing, but don’t sell. " };
        foreach (var (words, said) in new[]
        {
            (own with { LicenceInShort = new string('x', InShort.MaxLength + 1) }, $"has {InShort.MaxLength + 1} characters; {InShort.MaxLength} is the most. Shorten it by 1."),
            (own with { LicenceText = " ", LicenceInShort = "Sing." }, "Write the licence’s text too"),
            (Fine with { LicenceInShort = "Sing." }, "Write the licence’s text too"),
        })
        {
            var refusal = Assert.Single(Assert.IsType<EditOutcome.Refused>(await EditAsync(bench, id, words)).Refusals);
            Assert.Equal("LicenceInShort", refusal.Field);
            Assert.Contains(said, refusal.Words, StringComparison.Ordinal);
        }
        Assert.Equal("", (await bench.ReleaseAsync(id)).LicenceInShort);
        Assert.Empty(Assert.IsType<EditOutcome.Saved>(await EditAsync(bench, id, own with { LicenceInShort = $" {new string('x', InShort.MaxLength - 5)}\r\n  sing " })).Warnings);
        Assert.Equal($"{new string('x', InShort.MaxLength - 5)} sing", (await bench.ReleaseAsync(id)).LicenceInShort);

        // Left as it was beside another text, she is told; not when it was written anew, or the text is the same but for its ends.
        Assert.Empty(Assert.IsType<EditOutcome.Saved>(await EditAsync(bench, id, own with { LicenceText = "Sing, but don’t sell.\r\n", LicenceInShort = "Sing." })).Warnings);
        Assert.Contains("whether it still fits", Assert.Single(Assert.IsType<EditOutcome.Saved>(await EditAsync(bench, id, own with { LicenceText = "Don’t sing.", LicenceInShort = "Sing." })).Warnings), StringComparison.Ordinal);
        Assert.Empty(Assert.IsType<EditOutcome.Saved>(await EditAsync(bench, id, own with { LicenceText = "Hum.", LicenceInShort = "Only hum." })).Warnings);
        // A form filled before that change must not write over it unseen.
        Assert.IsType<EditOutcome.ChangedMeanwhile>(await EditAsync(bench, id, own with { LicenceText = "Hum.", LicenceInShort = "Sing.", FilledFrom = (own with { LicenceText = "Hum." }).Tidied().Mark() }));
    }

    [Theory]
    [InlineData("", "2", "Players[0].Name")]
    [InlineData("Pondskater", "", "Players[0].LowestVersion")]
    [InlineData("Pondskater", "2.", "Players[0].LowestVersion")]
    [InlineData("Pondskater", "v2", "Players[0].LowestVersion")]
    [InlineData("rushlight", "2", "Players[1].Name")]
    public async Task A_half_named_player_is_refused_beside_its_field(string name, string version, string field)
    {
        await using var bench = await SealBench.MakeAsync();
        var words = Fine with { Players = [new(name, version), new("Rushlight", "5")] };
        var refused = Assert.IsType<EditOutcome.Refused>(await EditAsync(bench, await bench.CheckedAsync("1.0.0"), words));
        Assert.Equal(field, Assert.Single(refused.Refusals).Field);
    }

    [Fact]
    public async Task A_release_gets_another_number_unless_it_is_taken()
    {
        await using var bench = await SealBench.MakeAsync();
        await bench.SealedAsync(await bench.CheckedAsync("1.0.0", ("a.wav", "a")));
        var id = await bench.CheckedAsync("1.1.0");
        await using var db = bench.Shelf.Open();
        var renumber = new RenumberRelease(db);
        Assert.IsType<EditOutcome.Refused>(await renumber.RunAsync(id, "1.0.0", null, CancellationToken.None));
        Assert.IsType<EditOutcome.Saved>(await renumber.RunAsync(id, " 2.0.0 ", null, CancellationToken.None));
        Assert.Equal("2.0.0", (await bench.ReleaseAsync(id)).Number);
    }

    [Fact]
    public async Task A_sealed_release_is_left_as_it_is_by_every_edit()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.AskAsync(id);
        await using var db = bench.Shelf.Open();
        foreach (var words in new[] { "being sealed", "is sealed" })
        {
            foreach (var outcome in new[]
            {
                await EditAsync(bench, id, Fine),
                await new RenumberRelease(db).RunAsync(id, "3.0.0", null, CancellationToken.None),
                await new DiscardDraft(db, new UploadDesk(bench.Shelf.Paths)).RunAsync(id, CancellationToken.None),
            })
                Assert.Contains(words, Assert.Single(Assert.IsType<EditOutcome.Refused>(outcome).Refusals).Words, StringComparison.Ordinal);
            await bench.SealAsync(id);
            db.ChangeTracker.Clear();
        }
    }

    [Fact]
    public async Task A_decision_is_appended_when_it_changes_and_holds_from_its_instant()
    {
        await using var bench = await SealBench.MakeAsync();
        DecideAudienceOutcome[] expected = [DecideAudienceOutcome.Decided, DecideAudienceOutcome.Unchanged, DecideAudienceOutcome.Decided];
        var start = bench.Shelf.Clock.GetUtcNow();
        foreach (var (audience, outcome) in new[] { Audience.Free, Audience.Free, Audience.Members }.Zip(expected))
        {
            await using var db = bench.Shelf.Open();
            Assert.Equal(outcome, await new DecideAudience(db, bench.Shelf.Clock).RunAsync("kettle", audience, CancellationToken.None));
            bench.Shelf.Clock.Advance(TimeSpan.FromHours(1));
        }
        await using var read = bench.Shelf.Open();
        var library = await read.Libraries.Include(l => l.Audiences).SingleAsync();
        Assert.Equal([null, Audience.Free, Audience.Members],
            new[] { -1.0, 1.999, 2 }.Select(hours => library.AudienceAt(start.AddHours(hours))));
        Assert.Equal(DecideAudienceOutcome.NoSuchLibrary,
            await new DecideAudience(read, bench.Shelf.Clock).RunAsync("none", Audience.Free, CancellationToken.None));
    }

    [Fact]
    public async Task A_librarys_words_change_but_not_its_address()
    {
        await using var bench = await SealBench.MakeAsync();
        await using var db = bench.Shelf.Open();
        var edit = new EditLibrary(db, TimeProvider.System);
        Assert.IsType<EditOutcome.Saved>(await edit.RunAsync("kettle", new LibraryWords("New Title", IsPitched: false, Paint: Paint.Oxide), CancellationToken.None));
        Assert.IsType<EditOutcome.Refused>(await edit.RunAsync("kettle", new LibraryWords(new string('x', 81)), CancellationToken.None));
        Assert.IsType<EditOutcome.Missing>(await edit.RunAsync("none", new LibraryWords("X"), CancellationToken.None));
        await using var read = bench.Shelf.Open();
        var library = await read.Libraries.SingleAsync();
        Assert.Equal(("kettle", "New Title", Paint.Oxide, false), (library.Slug, library.Title, library.Paint, library.IsPitched));
    }

    [Fact]
    public async Task A_checked_release_is_checked_anew_when_the_library_becomes_an_unpitched_kit()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0");
        await EditLibraryAsync(new LibraryWords("Kettle", IsPitched: true));
        Assert.Equal(ReleaseState.Checked, (await bench.ReleaseAsync(id)).State);
        await EditLibraryAsync(new LibraryWords("Kettle", IsPitched: false));
        Assert.Equal(ReleaseState.Draft, (await bench.ReleaseAsync(id)).State);

        async Task EditLibraryAsync(LibraryWords words)
        {
            await using var db = bench.Shelf.Open();
            Assert.IsType<EditOutcome.Saved>(await new EditLibrary(db, TimeProvider.System).RunAsync("kettle", words, CancellationToken.None));
        }
    }

    private static async Task<EditOutcome> EditAsync(SealBench bench, long id, ReleaseWords words)
    {
        await using var db = bench.Shelf.Open();
        return await new EditRelease(db).RunAsync(id, words, CancellationToken.None);
    }
}
