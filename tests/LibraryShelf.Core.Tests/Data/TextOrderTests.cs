using System.Text;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Data;

/// <summary>Text is compared and sorted by the bytes of its UTF-8 on either database, whatever the server's language.</summary>
public sealed class TextOrderTests
{
    // In English these sort quite otherwise: punctuation is passed over, and a, A, ä stand together.
    private static readonly string[] Titles = ["b", "B", "a", "A", "ä", "_a", "-b", "a b", "ab", "Z", "z", "ſ", "ß", "ss", "1", "10", "9", "한", "🎹", "�"];

    [Fact]
    public async Task Sorting_is_by_bytes()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        db.Libraries.AddRange(Titles.Select((title, i) => new Library { Slug = $"s{i}", Title = title }));
        await db.SaveChangesAsync();
        var expected = Titles.OrderBy(t => Convert.ToHexString(Encoding.UTF8.GetBytes(t)), StringComparer.Ordinal);
        Assert.Equal(expected, await db.Libraries.OrderBy(l => l.Title).Select(l => l.Title).ToListAsync());
    }

    [Fact]
    public async Task Capitals_and_composed_letters_are_other_letters()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        string[] slugs = ["kettle", "Kettle", "caf\u00e9", "cafe\u0301", "kettle "];
        db.Libraries.AddRange(slugs.Select(slug => new Library { Slug = slug, Title = slug }));
        await db.SaveChangesAsync();
        foreach (var slug in slugs)
            Assert.Equal(slug, (await db.Libraries.SingleAsync(l => l.Slug == slug)).Title);
        Assert.False(await db.Libraries.AnyAsync(l => l.Slug == "KETTLE"));
    }

    [Fact]
    public async Task A_part_is_found_as_it_is_written_and_its_signs_mean_nothing_else()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        db.Users.AddRange(new[] { "A_B%C@X.EXAMPLE", "AXBYC@X.EXAMPLE", "a_b%c@x.example" }.Select(e => new Person { NormalizedEmail = e }));
        await db.SaveChangesAsync();
        var part = "_B%C";
        Assert.Equal(1, await db.Users.CountAsync(p => p.NormalizedEmail!.Contains(part)));
    }

    [Fact]
    public async Task A_NUL_that_someone_sends_is_no_fault()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        db.Libraries.Add(new Library { Slug = "kettle", Title = "Ket\0tle", Sentence = "\0" });
        await db.SaveChangesAsync();
        Assert.Equal("Kettle", (await db.Libraries.AsNoTracking().SingleAsync()).Title.Replace("\0", "", StringComparison.Ordinal));
        string[] wanted = ["\0", "x\0"];
        Assert.Equal(0, await db.Libraries.CountAsync(l => wanted.Contains(l.Slug) || l.Slug == "y\0" + wanted[0]));
    }

    [Fact]
    public async Task The_largest_numbers_come_back()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        var hash = new string('f', 64);
        db.Blobs.Add(new Blob { Sha256 = hash, Size = long.MaxValue, Crc32 = uint.MaxValue, StoredAt = DateTimeOffset.MaxValue });
        await db.SaveChangesAsync();
        var back = await db.Blobs.AsNoTracking().SingleAsync();
        Assert.Equal((long.MaxValue, uint.MaxValue), (back.Size, back.Crc32));
        Assert.Equal(DateTimeOffset.MaxValue.ToUnixTimeMilliseconds(), back.StoredAt.ToUnixTimeMilliseconds());
    }
}
