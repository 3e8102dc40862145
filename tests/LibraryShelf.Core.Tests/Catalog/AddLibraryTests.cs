using LibraryShelf.Core.Catalog;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Catalog;

public sealed class AddLibraryTests
{
    [Fact]
    public async Task A_title_alone_is_enough()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var added = Assert.IsType<AddLibraryOutcome.Added>(await AddAsync(shelf, "  Jam-jar Marimba "));

        await using var db = shelf.Open();
        var library = await db.Libraries.SingleAsync();
        Assert.Equal(("jam-jar-marimba", "Jam-jar Marimba", added.LibraryId), (library.Slug, library.Title, library.Id));
        Assert.Equal(shelf.Clock.GetUtcNow(), library.CreatedAt);
    }

    [Fact]
    public async Task Paints_go_round_so_that_neighbours_differ()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var count = Enum.GetValues<Paint>().Length;
        for (var i = 0; i <= count; i++)
            await AddAsync(shelf, $"Box {i}");

        await using var db = shelf.Open();
        var paints = await db.Libraries.OrderBy(l => l.Id).Select(l => l.Paint).ToListAsync();
        Assert.Equal(count, paints.Distinct().Count());
        Assert.All(paints.Zip(paints.Skip(1)), pair => Assert.NotEqual(pair.First, pair.Second));
    }

    [Theory]
    [InlineData("", null, "Title", "Give the library a title")]
    [InlineData("鐘", null, "Slug", "type an address")]
    [InlineData("Jam", "Jam Jars", "Slug", "small letters")]
    [InlineData("Other", "jam-jar-marimba", "Slug", "already has the address")]
    [InlineData("Jam-Jar marimba!", null, "Slug", "“Jam-jar Marimba” already has the address")]
    public async Task A_wrong_value_is_refused_with_words_and_nothing_is_added(string title, string? slug, string field, string words)
    {
        await using var shelf = await TempShelf.MakeAsync();
        await AddAsync(shelf, "Jam-jar Marimba");
        var refused = Assert.IsType<AddLibraryOutcome.Refused>(await AddAsync(shelf, title, slug));

        var refusal = Assert.Single(refused.Refusals);
        Assert.Equal(field, refusal.Field);
        Assert.Contains(words, refusal.Words, StringComparison.Ordinal);
        await using var db = shelf.Open();
        Assert.Equal(1, await db.Libraries.CountAsync());
    }

    private static async Task<AddLibraryOutcome> AddAsync(TempShelf shelf, string title, string? slug = null)
    {
        await using var db = shelf.Open();
        return await new AddLibrary(db, shelf.Clock).RunAsync(new LibraryWords(title), slug, CancellationToken.None);
    }
}
