using System.Globalization;
using LibraryShelf.Core.Persons;

namespace LibraryShelf.Core.Tests.Persons;

public sealed class ReadMyDataTests
{
    [Fact]
    public async Task Every_table_that_names_somebody_gives_its_rows_and_no_secrets()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.FillAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail);
        await shelf.PayAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail, "sub_1");
        var data = (await shelf.DataAsync(PersonsShelf.Wren))!;
        Assert.Equal(PersonsShelf.WrenEmail, data.Email);
        Assert.DoesNotContain(data.Tables, t => t.Rows.Count == 0);
        // Withdrawn (written in small letters), early (to the address before), welcome, joined, a new version (which names the person).
        Assert.Equal(5, Table(data, "mails").Rows.Count);
        var cells = data.Tables.SelectMany(t => t.Rows).SelectMany(r => r).Select(c => Convert.ToString(c, CultureInfo.InvariantCulture) ?? "").ToList();
        Assert.DoesNotContain(cells, c => c.Contains("hash-", StringComparison.Ordinal) || c.Contains($"{PersonsShelf.Wren}", StringComparison.Ordinal));
        Assert.All(data.Tables, t => Assert.All(t.Rows, r => Assert.Equal(t.Columns.Count, r.Count)));
        Assert.All(data.Tables.SelectMany(t => t.Rows).SelectMany(r => r), c => Assert.True(c is null or string or bool or int or long or DateTimeOffset));
    }

    [Fact]
    public async Task It_is_one_s_own_and_nobody_else_s()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.FillAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail);
        await shelf.PayAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail, "sub_1");
        var data = (await shelf.DataAsync(PersonsShelf.Robin))!;
        Assert.Equal(["you"], data.Tables.Where(t => t.Rows.Count > 0).Select(t => t.Name));
        Assert.Null(await shelf.DataAsync(1));
    }

    [Fact]
    public async Task A_payment_says_its_amount_as_it_was_paid()
    {
        await using var shelf = await PersonsShelf.MakeAsync();
        await shelf.PayAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail, "sub_1");
        var table = Table((await shelf.DataAsync(PersonsShelf.Wren))!, "payments");
        var row = table.Columns.Zip(table.Rows.Single()).ToDictionary(c => c.First, c => c.Second, StringComparer.Ordinal);
        Assert.Equal(("in_sub_1_0", 900L, "EUR"), (row["invoice"], row["minor"], row["currency"]));
    }

    private static MyTable Table(MyData data, string name) => data.Tables.Single(t => t.Name == name);
}
