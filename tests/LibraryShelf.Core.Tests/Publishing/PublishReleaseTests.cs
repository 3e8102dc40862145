using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Tests.Sealing;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Publishing;

public sealed class PublishReleaseTests
{
    [Fact]
    public async Task Publishing_puts_it_on_the_shelf_and_decides_who_it_is_for_once()
    {
        await using var bench = await SealBench.MakeAsync();
        var first = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.SealedAsync(first);
        Assert.Equal(PublishReleaseOutcome.Published, await PublishAsync(bench, first, Audience.Free));
        Assert.Equal(PublishReleaseOutcome.AlreadyPublished, await PublishAsync(bench, first, Audience.Members));

        var release = await bench.ReleaseAsync(first);
        Assert.Equal((ReleaseState.Published, bench.Shelf.Clock.GetUtcNow()), (release.State, release.PublishedAt));
        Assert.Equal([Audience.Free], await DecisionsAsync(bench));

        foreach (var (number, audience) in new[] { ("1.1.0", Audience.Free), ("1.2.0", Audience.Members) })
        {
            bench.Shelf.Clock.Advance(TimeSpan.FromDays(1));
            var next = await bench.CheckedAsync(number, ("a.wav", number));
            await bench.SealedAsync(next);
            await PublishAsync(bench, next, audience);
        }
        Assert.Equal([Audience.Free, Audience.Members], await DecisionsAsync(bench));
    }

    [Fact]
    public async Task An_archive_that_can_not_be_read_through_is_not_published_and_the_wish_is_taken_back_with_words()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.SealedAsync(id);
        await bench.ChangeAsync(id, r => r.PublishAfterSealFor = Audience.Free);
        await SetTroubleAsync(bench, "a stored file is gone.");
        Assert.Equal(PublishReleaseOutcome.ArchiveDamaged, await PublishAsync(bench, id, Audience.Free));
        var release = await bench.ReleaseAsync(id);
        Assert.Equal((ReleaseState.Sealed, null), (release.State, release.PublishAfterSealFor));
        Assert.Contains("was not published", release.Trouble, StringComparison.Ordinal);

        await SetTroubleAsync(bench, null);
        Assert.Equal(PublishReleaseOutcome.Published, await PublishAsync(bench, id, Audience.Free));
        Assert.Null((await bench.ReleaseAsync(id)).Trouble);
    }

    [Fact]
    public async Task Nothing_goes_out_before_the_maker_declares_and_once_is_enough()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        await bench.SealedAsync(id);
        await bench.ChangeAsync(id, r => (r.Library.DeclaredAt, r.PublishAfterSealFor) = (null, Audience.Members));
        Assert.Equal(PublishReleaseOutcome.NotDeclared, await PublishAsync(bench, id, Audience.Members));
        var release = await bench.ReleaseAsync(id);
        Assert.Equal((ReleaseState.Sealed, Audience.Members), (release.State, release.PublishAfterSealFor)); // the wish is kept
        Assert.Contains("have not said that its recordings are yours to give", release.Trouble, StringComparison.Ordinal);
        Assert.Empty(await DecisionsAsync(bench));
        Assert.Equal(PublishReleaseOutcome.NotDeclared, await PublishAsync(bench, id, Audience.Members));
        Assert.Equal(release.Revision, (await bench.ReleaseAsync(id)).Revision); // asked again each minute, it writes nothing more

        Assert.Equal(PublishReleaseOutcome.Published, await PublishAsync(bench, id, Audience.Members, declares: true));
        release = await bench.ReleaseAsync(id);
        Assert.Equal((null, null, bench.Shelf.Clock.GetUtcNow()), (release.Trouble, release.PublishAfterSealFor, release.Library.DeclaredAt));

        bench.Shelf.Clock.Advance(TimeSpan.FromDays(1));
        var next = await bench.CheckedAsync("1.1.0", ("a.wav", "b"));
        await bench.SealedAsync(next);
        Assert.Equal(PublishReleaseOutcome.Published, await PublishAsync(bench, next, Audience.Members));
    }

    [Fact]
    public async Task A_library_that_was_on_the_shelf_before_makers_were_asked_needs_no_declaration()
    {
        await using var bench = await SealBench.MakeAsync();
        var (first, next) = (await bench.CheckedAsync("1.0.0", ("a.wav", "a")), await bench.CheckedAsync("1.1.0", ("a.wav", "b")));
        await bench.SealedAsync(first);
        await PublishAsync(bench, first, Audience.Free);
        await bench.ChangeAsync(first, r => r.Library.DeclaredAt = null);
        await bench.SealedAsync(next);
        Assert.Equal(PublishReleaseOutcome.Published, await PublishAsync(bench, next, Audience.Free));
    }

    private static async Task SetTroubleAsync(SealBench bench, string? words)
    {
        await using var db = bench.Shelf.Open();
        await db.Archives.ExecuteUpdateAsync(s => s.SetProperty(a => a.Trouble, words));
    }

    [Fact]
    public async Task Only_a_sealed_release_can_be_published()
    {
        await using var bench = await SealBench.MakeAsync();
        var id = await bench.CheckedAsync("1.0.0", ("a.wav", "a"));
        Assert.Equal(PublishReleaseOutcome.NotSealed, await PublishAsync(bench, id, Audience.Free));
        Assert.Equal(PublishReleaseOutcome.NoSuchRelease, await PublishAsync(bench, 99, Audience.Free));
        Assert.Empty(await DecisionsAsync(bench));
    }

    private static async Task<PublishReleaseOutcome> PublishAsync(SealBench bench, long id, Audience audience, bool declares = false)
    {
        await using var db = bench.Shelf.Open();
        return await new PublishRelease(db, bench.Shelf.Clock).RunAsync(id, audience, declares, null, CancellationToken.None);
    }

    private static async Task<List<Audience>> DecisionsAsync(SealBench bench)
    {
        await using var db = bench.Shelf.Open();
        return await db.AudienceDecisions.OrderBy(a => a.Id).Select(a => a.Audience).ToListAsync();
    }
}
