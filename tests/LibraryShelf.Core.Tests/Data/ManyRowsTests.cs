using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Data;

/// <summary>Many rows in one statement are what a row at a time would be.</summary>
public sealed class ManyRowsTests
{
    [Theory]
    [InlineData(0)]
    [InlineData(1)]
    [InlineData(50)]
    [InlineData(123)] // Two statements of fifty, one of the rest.
    public async Task All_rows_come_back_as_they_were_written(int count)
    {
        await using var shelf = await TempShelf.MakeAsync();
        var rows = Enumerable.Range(0, count).Select(Row).ToList();
        await using (var db = shelf.Open())
        {
            await using var transaction = await db.Database.BeginTransactionAsync();
            await db.AddManyAsync(rows, CancellationToken.None);
            await transaction.CommitAsync();
            Assert.Empty(db.ChangeTracker.Entries());
        }
        await using var look = shelf.Open();
        var read = await look.SheetEntries.AsNoTracking().OrderBy(e => e.Order).ToListAsync();
        Assert.Equal(rows.ConvertAll(Said), read.ConvertAll(Said));
        Assert.Equal(count, read.Select(e => e.Id).Distinct().Count());
    }

    [Fact]
    public async Task Nothing_stands_when_the_transaction_is_given_up()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using (var db = shelf.Open())
        {
            await using var transaction = await db.Database.BeginTransactionAsync();
            await db.AddManyAsync(Enumerable.Range(0, 60).Select(Row).ToList(), CancellationToken.None);
        }
        await using var look = shelf.Open();
        Assert.False(await look.SheetEntries.AnyAsync());
    }

    private static SheetEntry Row(int n) => new()
    {
        ReleaseId = 7, Code = "tail-cut", Severity = (Severity)(n % 3), Order = n,
        Path = n % 4 == 0 ? null : $"Samples/ö '{n}'.wav", ContentSha256 = n % 4 == 0 ? null : new string('a', 64),
        Message = $"“{n}”; DROP TABLE \"SheetEntries\" -- @p0_0",
        ExcuseReason = n % 5 == 0 ? "It is meant so." : null,
        ExcusedAt = n % 5 == 0 ? new DateTimeOffset(2026, 3, 1, 12, 0, n % 60, 250, TimeSpan.Zero) : null,
    };

    private static (long, string, Severity, string?, string?, string, string?, DateTimeOffset?, int) Said(SheetEntry e) =>
        (e.ReleaseId, e.Code, e.Severity, e.Path, e.ContentSha256, e.Message, e.ExcuseReason, e.ExcusedAt, e.Order);
}
