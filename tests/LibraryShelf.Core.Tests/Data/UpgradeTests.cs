using System.Data.Common;
using System.Globalization;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;
using Microsoft.EntityFrameworkCore.Migrations;

namespace LibraryShelf.Core.Tests.Data;

/// <summary>A shelf as any earlier version left it, a row in each table, is brought up to date and read whole.</summary>
public sealed class UpgradeTests
{
    /// <summary>Words that stand for values of enums, by column; of a table where two tables differ.</summary>
    private static readonly Dictionary<string, string> Words = new(StringComparer.Ordinal)
    {
        ["State"] = nameof(ReleaseState.Published), ["PublishAfterSealFor"] = nameof(Audience.Free), ["Audience"] = nameof(Audience.Members),
        ["Severity"] = nameof(Severity.ListenAgain), ["Paint"] = nameof(Paint.Zinc), ["Why"] = nameof(MayDownloadWhy.Free),
        ["Uploads.Kind"] = nameof(UploadKind.Zip), ["Archives.Kind"] = nameof(ArchiveKind.Full), ["Alerts.Kind"] = nameof(AlertKind.JobFailed),
        ["Purpose"] = nameof(SignInPurpose.SignIn), ["Facts"] = "{}", ["Places"] = "[]", ["Limits"] = "", ["Data"] = "{}",
        ["AfterLeaving"] = nameof(AfterLeaving.PaidMonths), ["JoinedUnder"] = nameof(AfterLeaving.AllTillThen), ["SubjectKind"] = nameof(SubjectKind.Invoice),
        ["Month"] = "2026-03", ["Figure"] = nameof(MemberFigure.Joined), ["Drops.State"] = nameof(DropState.Planned), ["MailRefusals.Kind"] = nameof(MailKind.Drop),
        ["Use"] = nameof(TokenUse.ReadNumbers),
    };

    [Fact]
    public async Task Each_earlier_version_of_the_tables_is_brought_up_to_date_with_its_rows()
    {
        await using var shelf = new EmptyDatabase();
        List<string> all;
        await using (var db = shelf.Open())
            all = [.. db.Database.GetMigrations()];
        Assert.True(all.Count >= 2, "There is nothing to upgrade from.");
        foreach (var earlier in all.SkipLast(1))
            await UpgradeAsync(earlier);
    }

    private static async Task UpgradeAsync(string earlier)
    {
        await using var shelf = new EmptyDatabase();
        Dictionary<string, long> before;
        await using (var db = shelf.Open())
        {
            await db.GetService<IMigrator>().MigrateAsync(earlier);
            before = await FillAsync(db);
        }
        await using (var db = shelf.Open())
            await shelf.BringUpToDateAsync(db);
        await using (var db = shelf.Open())
        {
            Assert.Empty(await db.Database.GetPendingMigrationsAsync());
            foreach (var (table, rows) in before)
                Assert.Equal((earlier, table, rows), (earlier, table, await CountAsync(db, table)));
            if (!TestDatabase.IsPostgres)
                Assert.Equal(0L, await CountAsync(db, "pragma_foreign_key_check"));
            await ReadAllAsync(db);
        }
    }

    /// <summary>Every entity of the model, so that a column that can't be read any more is met.</summary>
    private static async Task ReadAllAsync(ShelfDb db)
    {
        Assert.Equal("x", (await db.Shops.SingleAsync()).Name);
        var release = await db.Releases.Include(r => r.Library).Include(r => r.Players).Include(r => r.Files).SingleAsync();
        Assert.Equal((ReleaseState.Published, "x", 1, 1), (release.State, release.Library.Title, release.Players.Count, release.Files.Count));
        Assert.All([release.LicenceInShort, (await db.Shops.SingleAsync()).LicenceInShort], line => Assert.True(line is "" or "x", line));
        Assert.Equal(MayDownloadWhy.Free, (await db.Downloads.SingleAsync()).Why);
        Assert.Single(await db.DownloadEvents.ToListAsync());
        Assert.Single(await db.DownloadTallies.ToListAsync());
        Assert.Equal(Severity.ListenAgain, (await db.SheetEntries.SingleAsync()).Severity);
        Assert.Equal(UploadKind.Zip, (await db.Uploads.SingleAsync()).Kind);
        Assert.Equal(ArchiveKind.Full, (await db.Archives.SingleAsync()).Kind);
        Assert.Single(await db.Measurements.ToListAsync());
        Assert.Single(await db.MembershipGrants.ToListAsync());
        Assert.Single(await db.Outbox.ToListAsync());
        Assert.Single(await db.Users.ToListAsync());
        Assert.Single(await db.SignInTickets.ToListAsync());
        Assert.Single(await db.UploadTokens.ToListAsync());
        Assert.Single(await db.LinkKeys.ToListAsync());
        Assert.Single(await db.Blobs.ToListAsync());
        Assert.Single(await db.BlobClaims.ToListAsync());
        Assert.Single(await db.AudienceDecisions.ToListAsync());
    }

    /// <summary>One row in each table that there is: 1, "x", or an enum's word; so that each row's parents are the rows of id 1.</summary>
    private static async Task<Dictionary<string, long>> FillAsync(ShelfDb db)
    {
        await db.Database.OpenConnectionAsync();
        await SayAsync(db, TestDatabase.IsPostgres ? "SET session_replication_role = replica" : "PRAGMA foreign_keys = OFF");
        var counts = new Dictionary<string, long>(StringComparer.Ordinal);
        foreach (var table in await TextsAsync(db, TestDatabase.IsPostgres
            ? "SELECT table_name FROM information_schema.tables WHERE table_schema = 'public' AND table_name NOT LIKE '\\_\\_%'"
            : "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE '\\_\\_%' ESCAPE '\\' AND name NOT LIKE 'sqlite%'"))
        {
            var columns = await TextsAsync(db, TestDatabase.IsPostgres
                ? $"SELECT column_name || ' ' || data_type FROM information_schema.columns WHERE table_schema = 'public' AND table_name = '{table}'"
                : $"SELECT name || ' ' || type FROM pragma_table_info('{table}')");
            var names = columns.ConvertAll(c => c[..c.IndexOf(' ', StringComparison.Ordinal)]);
            await SayAsync(db, $"INSERT INTO \"{table}\" ({string.Join(", ", names.Select(n => $"\"{n}\""))}) VALUES ({string.Join(", ", columns.Select(c => ValueOf(table, c)))})");
            counts[table] = await CountAsync(db, table);
        }
        await db.Database.CloseConnectionAsync();
        return counts;
    }

    private static string ValueOf(string table, string column)
    {
        var (name, type) = (column[..column.IndexOf(' ', StringComparison.Ordinal)], column[(column.IndexOf(' ', StringComparison.Ordinal) + 1)..].ToUpperInvariant());
        return type switch
        {
            "BOOLEAN" => "true",
            "BYTEA" => "'\\x01'",
            "BLOB" => "x'01'",
            "JSONB" or "JSON" => "'{}'",
            "UUID" => "'00000000-0000-0000-0000-000000000001'",
            _ when type.StartsWith("TIMESTAMP", StringComparison.Ordinal) => "'2026-01-01 00:00:00+00'",
            _ when type.Contains("INT", StringComparison.Ordinal) || type is "REAL" or "DOUBLE PRECISION" or "NUMERIC" => "1",
            _ => $"'{Words.GetValueOrDefault($"{table}.{name}") ?? Words.GetValueOrDefault(name) ?? "x"}'",
        };
    }

    private static async Task<long> CountAsync(ShelfDb db, string table) =>
        long.Parse((await TextsAsync(db, $"SELECT CAST(COUNT(*) AS TEXT) FROM \"{table}\""))[0], CultureInfo.InvariantCulture);

    private static async Task SayAsync(ShelfDb db, string sql)
    {
        await using var command = await CommandAsync(db, sql);
        await command.ExecuteNonQueryAsync();
    }

    private static async Task<List<string>> TextsAsync(ShelfDb db, string sql)
    {
        await using var command = await CommandAsync(db, sql);
        await using var reader = await command.ExecuteReaderAsync();
        var texts = new List<string>();
        while (await reader.ReadAsync())
            texts.Add(reader.GetString(0));
        return texts;
    }

    private static async Task<DbCommand> CommandAsync(ShelfDb db, string sql)
    {
        if (db.Database.GetDbConnection().State != System.Data.ConnectionState.Open)
            await db.Database.OpenConnectionAsync();
        var command = db.Database.GetDbConnection().CreateCommand();
#pragma warning disable CA2100 // Names are the database's own.
        command.CommandText = sql;
#pragma warning restore CA2100
        return command;
    }
}
