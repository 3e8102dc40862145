using System.Text;
using CsCheck;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Tests.Archives;

public sealed class RecipeTests
{
    // SHA-256 of "abc": FIPS 180-2, appendix B.1. CRC-32 of "123456789" is cbf43926: the check value of CRC-32/ISO-HDLC in
    // Ross Williams, "A Painless Guide to CRC Error Detection Algorithms" (1993).
    private const string Abc = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";

    private static readonly string Canonical =
        "libraryshelf-recipe 1\ndated 2026-03-01\nentries 3\ntop Mended Kettle\n"
        + $"blob 3 352441c2 {Abc} Samples/C 4.wav\n"
        + "text 9 cbf43926 MTIzNDU2Nzg5 CHANGES.md\n"
        + "text 0 00000000  empty.txt\n";

    [Fact]
    public void The_canonical_form_is_as_documented()
    {
        var recipe = new Recipe("Mended Kettle", new DateOnly(2026, 3, 1),
        [
            RecipeEntry.FromBlob("Samples/C 4.wav", 3, 0x352441c2, Abc),
            RecipeEntry.FromBytes("CHANGES.md", "123456789"u8.ToArray()),
            RecipeEntry.FromBytes("empty.txt", default),
        ]);
        Assert.Equal(Canonical, Encoding.UTF8.GetString(recipe.CanonicalBytes.Span));
        Assert.Equal(recipe.Sha256, Recipe.Parse(Encoding.UTF8.GetBytes(Canonical)).Sha256);
    }

    [Theory]
    [InlineData("libraryshelf-recipe 1", "libraryshelf-recipe 2", "first line")]
    [InlineData("dated 2026-03-01", "dated 2026-02-30", "Line 2")]
    [InlineData("dated 2026-03-01", "dated 1979-12-31", "1980 to 2107")]
    [InlineData("entries 3", "entries 2", "line 3")]
    [InlineData("entries 3", "entries 03", "line 3")]
    [InlineData("top Mended Kettle", "Mended Kettle", "Line 4")]
    [InlineData("top Mended Kettle", "top a/b", "top folder")]
    [InlineData("top Mended Kettle", "top ..", "top folder")]
    [InlineData("blob 3 ", "blob 03 ", "line 5")]
    [InlineData("blob 3 ", "blob +3 ", "Line 5")]
    [InlineData("blob 3 ", "blob -3 ", "Line 5")]
    [InlineData("blob 3 ", "blob 9223372036854775807 ", "larger")]
    [InlineData("blob 3 ", "blob 9223372036854775808 ", "Line 5")]
    [InlineData("blob 3 ", "bolb 3 ", "Line 5")]
    [InlineData("352441c2", "352441C2", "line 5")]
    [InlineData(" ba78", " BA78", "Line 5")]
    [InlineData("Samples/C 4.wav", "../C 4.wav", "Line 5")]
    [InlineData("Samples/C 4.wav", "/C 4.wav", "Line 5")]
    [InlineData("Samples/C 4.wav", "Samples\\C 4.wav", "Line 5")]
    [InlineData("Samples/C 4.wav", "CHANGES.md", "twice")]
    [InlineData("Samples/C 4.wav", "CHANGES.md/C4.wav", "both a file and a folder")]
    [InlineData("cbf43926", "cbf43927", "line 6")]
    [InlineData("text 9", "text 8", "line 6")]
    [InlineData("MTIzNDU2Nzg5", "MTIzNDU2Nzg", "Line 6")]
    [InlineData("empty.txt\n", "empty.txt", "too early")]
    [InlineData("empty.txt\n", "empty.txt\r\n", "Line 7")]
    [InlineData("empty.txt\n", "empty.txt\n\n", "Line 8")]
    public void Anything_else_is_refused_and_says_where(string was, string altered, string says)
    {
        Assert.Contains(was, Canonical);
        var bytes = Encoding.UTF8.GetBytes(Canonical.Replace(was, altered));
        Assert.Contains(says, Assert.Throws<FormatException>(() => Recipe.Parse(bytes)).Message);
    }

    [Fact]
    public void Bytes_that_are_no_text_are_refused() =>
        Assert.Throws<FormatException>(() => Recipe.Parse(new byte[] { 0x6c, 0xff, 0xfe }));

    [Fact]
    public void Every_recipe_reads_back_and_every_flipped_bit_is_another_recipe_or_none() =>
        Gen.Select(Gen.String[Gen.Char["aZ ä鈴.-_#'\"%"], 1, 12].Array[1, 8], Gen.Byte.Array[0, 20], Gen.Int[0, 40_000], Gen.Int[0, int.MaxValue])
            .Sample((names, bytes, days, flip) =>
            {
                var entries = names.Select((n, i) => i % 2 == 0
                    ? RecipeEntry.FromBytes($"{n}x{i}", bytes)
                    : RecipeEntry.FromBlob($"d{i}/{n}x", (long)i << 33, (uint)days, Abc));
                var recipe = new Recipe("T", Recipe.Undated.AddDays(days), entries);
                var canonical = recipe.CanonicalBytes.ToArray();
                var again = Recipe.Parse(canonical);
                Assert.True(again.CanonicalBytes.Span.SequenceEqual(canonical));
                Assert.Equal(recipe.Entries.Select(e => e.Path), again.Entries.Select(e => e.Path));

                canonical[flip % canonical.Length] ^= (byte)(1 << (flip % 8));
                try
                {
                    Assert.NotEqual(recipe.Sha256, Recipe.Parse(canonical).Sha256);
                }
                catch (FormatException)
                {
                    // Refusing is the other good answer.
                }
            }, iter: 2000, threads: 1);

    [Theory]
    [InlineData("a\nb")]
    [InlineData("a\u007fb")]
    [InlineData("a//b")]
    [InlineData("a/")]
    [InlineData("./a")]
    public void A_path_that_could_harm_is_refused(string path) =>
        Assert.Throws<RecipeException>(() => RecipeEntry.FromBytes(path, default));

    [Fact]
    public void Half_a_character_is_refused() =>
        Assert.Throws<RecipeException>(() => RecipeEntry.FromBytes("a\ud800b", default));

    /// <summary>Far below the 65,535 bytes that a zip's records have for a name (APPNOTE 4.4.10), whatever its letters.</summary>
    [Fact]
    public void The_longest_path_that_is_stored_fits_and_one_more_letter_does_not()
    {
        var fits = new string('n', PortablePath.MaxStored);
        _ = new Recipe("T", Recipe.Undated, [RecipeEntry.FromBytes(fits, default)]);
        Assert.Throws<RecipeException>(() => RecipeEntry.FromBytes(fits + "n", default));
    }
}
