using System.Diagnostics;
using LibraryShelf.Adapters.Storage;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Upkeep;
using LibraryShelf.Data.Postgres;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Options;
using Npgsql;

namespace LibraryShelf.Core.Tests.Upkeep;

[Trait("Database", "postgres")]
public sealed class PostgresCopiesTests
{
    private static readonly ServiceProvider Version3 = new ServiceCollection().Configure<IdentityOptions>(o => o.Stores.SchemaVersion = IdentitySchemaVersions.Version3).BuildServiceProvider();

    /// <summary>As docs/operating.md says: pg_restore into an empty database, then the command.</summary>
    [Fact]
    public async Task A_dump_put_into_an_empty_database_by_the_servers_own_program_becomes_a_quiet_shelf()
    {
        using var shelf = new UpkeepShelf();
        var hash = await shelf.StoreAsync("one");
        await shelf.AddAsync(new Shop { Name = "Saltmarsh" });
        var dump = Path.Combine(shelf.Backups, await shelf.BackedUpAsync(), "shelf.dump");
        var connection = TestServer.Create("TEMPLATE template0");
        try
        {
            var copies = new PostgresCopies(connection, Version3);
            Assert.Contains("database of the settings is empty", Assert.IsType<RestoreOutcome.Refused>(await RestoreAsync(shelf, copies, isDatabaseRestored: true)).Words, StringComparison.Ordinal);
            Assert.Contains("pg_restore --no-owner", Assert.IsType<RestoreOutcome.Refused>(await RestoreAsync(shelf, copies, isDatabaseRestored: false)).Words, StringComparison.Ordinal);
            var to = new NpgsqlConnectionStringBuilder(connection);
            using var restore = Process.Start("pg_restore", ["--no-owner", "--exit-on-error", $"--dbname=host={to.Host} port={to.Port} user={to.Username} dbname={to.Database}", dump]);
            await restore.WaitForExitAsync();
            Assert.Equal(0, restore.ExitCode);
            Assert.IsType<RestoreOutcome.Restored>(await RestoreAsync(shelf, copies, isDatabaseRestored: true));
            await using var db = await copies.OpenAsync("", default);
            var shop = await db!.Shops.SingleAsync();
            Assert.Equal(("Saltmarsh", shelf.Now, hash), (shop.Name, shop.HeldSince, (await db.Blobs.SingleAsync()).Sha256));
            await UpkeepShelf.NumbersGoOnElsewhereAsync(db);
            Assert.Equal("one", await File.ReadAllTextAsync(new DiskBlobStore(shelf.Restored).LocalPath(hash)!));
        }
        finally
        {
            using (var pooled = new NpgsqlConnection(connection))
                NpgsqlConnection.ClearPool(pooled);
            TestServer.Drop(connection);
        }
    }

    [Fact]
    public async Task A_server_that_refuses_is_told_in_its_own_words_and_no_backup_is_made()
    {
        using var shelf = new UpkeepShelf();
        var nowhere = new PostgresCopies("Host=127.0.0.1;Port=1;Username=shelf;Database=shelf;Password=a secret", Version3);
        var words = Assert.IsType<BackupOutcome.NotMade>(await shelf.BackUpAsync(nowhere)).Words;
        Assert.Contains("What it said: pg_dump:", words, StringComparison.Ordinal);
        Assert.DoesNotContain("a secret", words, StringComparison.Ordinal);
        Assert.Empty(Directory.GetDirectories(shelf.Backups));
    }

    private static async Task<RestoreOutcome> RestoreAsync(UpkeepShelf shelf, IDatabaseCopies copies, bool isDatabaseRestored)
    {
        await using var db = shelf.Open();
        return await new RestoreBackup(db, new DiskBlobFolders(shelf.Clock), copies, shelf.Restored, shelf.Clock, Options.Create(shelf.Settings)).RunAsync(new(null, WithoutDamaged: false, isDatabaseRestored), default);
    }
}
