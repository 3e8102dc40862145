using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Statistics;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Data;

/// <summary>What the steps rely on whichever database they run on: between reading and writing in a transaction nobody else writes.</summary>
public sealed class OneWriterTests
{
    private const int Writers = 6, Turns = 8;

    [Fact]
    public async Task What_a_transaction_read_still_stands_when_it_writes()
    {
        await using var shelf = await WithTokenAsync();
        await TogetherAsync(async writer =>
        {
            await using var db = shelf.Open();
            if (writer % 2 == 0)
            {
                await AddOneAsync(db);
            }
            else
            {
                // A lone statement, as most small writes are.
                Assert.Equal(1, await db.UploadTokens.ExecuteUpdateAsync(s => s.SetProperty(t => t.Name, t => t.Name + "x")));
            }
        });
        await using var end = shelf.Open();
        Assert.Equal(Writers * Turns, (await end.UploadTokens.SingleAsync()).Name.Length);
    }

    [Fact]
    public async Task A_concurrency_token_is_never_met_by_surprise_inside_a_transaction()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using (var db = shelf.Open())
        {
            db.Libraries.Add(new Library { Slug = "kettle", Title = "Kettle" });
            await db.SaveChangesAsync();
        }
        await TogetherAsync(async _ =>
        {
            await using var db = shelf.Open();
            await using var transaction = await db.Database.BeginTransactionAsync();
            (await db.Libraries.SingleAsync()).Revision++;
            await db.SaveChangesAsync();
            await transaction.CommitAsync();
        });
        await using var end = shelf.Open();
        Assert.Equal(Writers * Turns, (await end.Libraries.SingleAsync()).Revision);
    }

    /// <summary>Only of that transaction: the connection goes back to its pool as it came.</summary>
    [Fact]
    [Trait("Database", "postgres")]
    public async Task What_goes_all_over_the_database_goes_by_indexes_and_by_one_program()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        var usual = await SaidAsync();
        Assert.NotEqual("1.1 0 off", usual);
        db.IsWide = true;
        await using (await db.Database.BeginTransactionAsync())
            Assert.Equal("1.1 0 off", await SaidAsync());
        db.IsWide = false;
        await using (await db.Database.BeginTransactionAsync())
            Assert.Equal(usual, await SaidAsync());

        Task<string> SaidAsync() => db.Database.SqlQuery<string>(
            $"""SELECT concat_ws(' ', current_setting('random_page_cost'), current_setting('max_parallel_workers_per_gather'), current_setting('jit')) AS "Value" """).SingleAsync();
    }

    [Fact]
    public async Task Events_become_visible_in_the_order_of_their_ids_so_none_is_passed_over()
    {
        await using var shelf = await TempShelf.MakeAsync();
        var counted = 0;
        await using var first = shelf.Open();
        await using var transaction = await first.Database.BeginTransactionAsync();
        await new RecordEvents(first).RunAsync([new() { DownloadId = "first", From = 0, To = 1 }], default);
        var second = Task.Run(async () =>
        {
            await using var db = shelf.Open();
            await new RecordEvents(db).RunAsync([new() { DownloadId = "second", From = 0, To = 1 }], default);
        });
        // Time for the second to overtake the first, and for the count to pass over the first: on a slow machine this proves less.
        await Task.WhenAny(second, Task.Delay(TimeSpan.FromMilliseconds(500), TimeProvider.System));
        await CountAsync();
        await transaction.CommitAsync();
        await second;
        await CountAsync();
        Assert.Equal(2, counted);

        async Task CountAsync()
        {
            await using var db = shelf.Open();
            counted += await new CountDownloads(db).RunAsync(default);
        }
    }

    [Fact]
    public async Task A_transaction_goes_on_after_a_statement_that_was_refused()
    {
        await using var shelf = await WithTokenAsync();
        await using var db = shelf.Open();
        await using (var transaction = await db.Database.BeginTransactionAsync())
        {
            db.Libraries.Add(new Library { Slug = "a", Title = "A" });
            await db.SaveChangesAsync();
            db.Libraries.Add(new Library { Slug = "a", Title = "The same slug" });
            await Assert.ThrowsAsync<DbUpdateException>(() => db.SaveChangesAsync());
            db.ChangeTracker.Clear();
            db.Libraries.Add(new Library { Slug = "b", Title = "B" });
            await db.SaveChangesAsync();
            await transaction.CommitAsync();
        }
        Assert.Equal(["a", "b"], await db.Libraries.OrderBy(l => l.Slug).Select(l => l.Slug).ToListAsync());
    }

    private static async Task AddOneAsync(ShelfDb db)
    {
        await using var transaction = await db.Database.BeginTransactionAsync();
        var token = await db.UploadTokens.SingleAsync();
        token.Name += "x";
        await db.SaveChangesAsync();
        await transaction.CommitAsync();
    }

    private static async Task<TempShelf> WithTokenAsync()
    {
        var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        db.UploadTokens.Add(new UploadToken { TokenHash = "hash" });
        await db.SaveChangesAsync();
        return shelf;
    }

    private static Task TogetherAsync(Func<int, Task> turn) => Task.WhenAll(Enumerable.Range(0, Writers).Select(writer => Task.Run(async () =>
    {
        for (var i = 0; i < Turns; i++) await turn(writer);
    })));
}
