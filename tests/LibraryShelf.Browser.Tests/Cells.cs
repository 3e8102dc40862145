using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>A table's cells, found by what stands over them, so that a column more beside them changes nothing.</summary>
internal static class Cells
{
    /// <param name="row">One of a table whose cells each fill one column.</param>
    /// <param name="heading">The column's.</param>
    public static async Task<string> UnderAsync(this ILocator row, string heading)
    {
        var headings = await row.Locator("xpath=ancestor::table[1]/thead/tr[1]/*").AllTextContentsAsync();
        var column = headings.ToList().FindIndex(h => h.Trim() == heading);
        Assert.True(column >= 0, $"No column “{heading}” among {string.Join(", ", headings)}.");
        return (await row.Locator("xpath=*").Nth(column).TextContentAsync())!.Trim();
    }
}
