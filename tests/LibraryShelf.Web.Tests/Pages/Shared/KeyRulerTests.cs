using LibraryShelf.Web.Pages.Shared;

namespace LibraryShelf.Web.Tests.Pages.Shared;

public sealed class KeyRulerTests
{
    [Fact]
    public void The_keyboard_has_52_naturals_and_36_accidentals()
    {
        // A piano's 88 keys: 52 white, 36 black.
        var keys = Enumerable.Range(KeyRuler.Lowest, KeyRuler.Columns).ToList();
        Assert.Equal(36, keys.Count(KeyRuler.IsAccidental));
        Assert.Equal(52, keys.Count(k => !KeyRuler.IsAccidental(k)));
    }

    [Fact]
    public void Naturals_cover_the_width_without_gap_or_overlap()
    {
        var edge = 0.0;
        foreach (var key in Enumerable.Range(KeyRuler.Lowest, KeyRuler.Columns).Where(k => !KeyRuler.IsAccidental(k)))
        {
            var (left, width) = KeyRuler.Place(key);
            Assert.Equal(edge, left, 9);
            edge = left + width;
        }
        Assert.Equal(KeyRuler.Columns, edge, 9);
    }

    [Fact]
    public void A_path_holds_one_rectangle_a_key()
    {
        // C4 to C6 has 15 naturals.
        var path = KeyRuler.Path(k => k is >= 60 and <= 84 && !KeyRuler.IsAccidental(k), 12, 0.7, 10.5, 9.5);
        Assert.Equal(15, path.Count(c => c == 'M'));
    }
}
