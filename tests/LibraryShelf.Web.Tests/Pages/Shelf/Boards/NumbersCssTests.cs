using System.Globalization;
using LibraryShelf.Web.Pages.Shared;

namespace LibraryShelf.Web.Tests.Pages.Shelf.Boards;

/// <summary>What boxes bring as classes is in the style sheet, and says there what the program means.</summary>
public sealed class NumbersCssTests
{
    [Fact]
    public async Task Every_size_and_width_that_a_title_may_have_has_its_class()
    {
        var sheet = await SheetAsync("/css/numbers.css");
        for (var size = 19; size <= 40; size++)
            Assert.Contains($".s{size} {{ --s: {size}px; }}", sheet, StringComparison.Ordinal);
        for (var size = 19; size <= 32; size++)
            Assert.Contains($".p{size} {{ --p: {size}px; }}", sheet, StringComparison.Ordinal);
        for (var width = 50; width <= 150; width += 2)
        {
            Assert.Contains($".w{width} {{ --w: {width}%; }}", sheet, StringComparison.Ordinal);
            Assert.Contains($".q{width} {{ --q: {width}%; }}", sheet, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task A_range_lights_the_accidentals_and_naturals_that_it_has_and_no_other()
    {
        var sheet = await SheetAsync("/css/numbers.css");
        for (var key = KeyRuler.Lowest; key <= KeyRuler.Highest; key++)
        {
            var (left, width) = KeyRuler.Place(key);
            var middle = key - KeyRuler.Lowest + 0.5;
            var (from, to) = KeyRuler.IsAccidental(key) ? (middle, middle) : (left, left + width);
            Assert.Contains($".lo{key} {{ --a: {key - KeyRuler.Lowest}; --n: {N(from)}; }}", sheet, StringComparison.Ordinal);
            Assert.Contains($".hi{key} {{ --b: {key - KeyRuler.Lowest + 1}; --m: {N(to)}; }}", sheet, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task The_lit_ruler_has_the_keys_of_the_ruler()
    {
        var picture = await SheetAsync("/ruler-lit.svg");
        Assert.Contains(KeyRuler.Path(k => !KeyRuler.IsAccidental(k), 12, 0.7, 10.5, 9.5), picture, StringComparison.Ordinal);
        Assert.Contains(KeyRuler.Path(KeyRuler.IsAccidental, 12, 1.8, 0, 8), picture, StringComparison.Ordinal);
    }

    private static string N(double value) => value.ToString("0.#", CultureInfo.InvariantCulture);

    private static async Task<string> SheetAsync(string address)
    {
        await using var host = new ShelfHost();
        return await host.Visitor().GetStringAsync(address);
    }
}
