using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Data.Postgres;
using LibraryShelf.Data.Sqlite;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Benchmarks.Making;

/// <summary>A claimed shelf in a data directory of its own; the published program serves it once started.</summary>
/// <param name="folder">The data directory.</param>
/// <param name="postgres">The connection string of its database; null: SQLite, in the data directory.</param>
internal sealed class Shelf(string folder, string? postgres = null)
{
    public const string MakerEmail = "maker@saltmarsh.example", Password = "reeds and tide 7";

    /// <summary>The accounts' tables depend on this option, as the host sets it.</summary>
    private static readonly IServiceProvider Accounts = new ServiceCollection()
        .Configure<IdentityOptions>(o => o.Stores.SchemaVersion = IdentitySchemaVersions.Version3).BuildServiceProvider();

    public DataPaths Paths { get; } = new(folder);

    public Uri Address { get; } = new($"http://127.0.0.1:{FreePort()}");

    public ShelfDb Open()
    {
        var options = new DbContextOptionsBuilder<ShelfDb>();
        if (postgres is null) SqliteSetup.Use(options, Paths.Database);
        else PostgresSetup.Use(options, postgres);
        options.UseApplicationServiceProvider(Accounts);
        return new ShelfDb(options.Options);
    }

    /// <summary>Makes the tables, or changes those of an earlier run into what they are by now.</summary>
    public static Task BringUpToDateAsync(ShelfDb db) =>
        db.Database.IsSqlite() ? SqliteSetup.BringUpToDateAsync(db, CancellationToken.None) : PostgresSetup.BringUpToDateAsync(db, CancellationToken.None);

    /// <summary>Bytes of the whole database.</summary>
    public async Task<long> BytesAsync()
    {
        if (postgres is null)
            return new FileInfo(Paths.Database).Length;
        await using var db = Open();
        return await db.Database.SqlQuery<long>($"""SELECT pg_database_size(current_database()) AS "Value" """).SingleAsync();
    }

    /// <summary>Has SQLite carry its write-ahead log over into the database and cut it to nothing; waits while somebody reads in it.</summary>
    public async Task EmptyLogAsync()
    {
        await using var db = Open();
        await db.Database.OpenConnectionAsync();
        await using var checkpoint = db.Database.GetDbConnection().CreateCommand();
        checkpoint.CommandText = "PRAGMA wal_checkpoint(TRUNCATE)";
        // The first column: 1 when it was kept from finishing.
        while (await checkpoint.ExecuteScalarAsync() is not 0L)
            await Task.Delay(10);
    }

    public static async Task<Shelf> ClaimedAsync(string folder, string? postgres = null)
    {
        var shelf = new Shelf(folder, postgres);
        foreach (var path in new[] { shelf.Paths.Blobs, shelf.Paths.Uploads, shelf.Paths.Outbox })
            Directory.CreateDirectory(path);
        await using var db = shelf.Open();
        await BringUpToDateAsync(db);
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", Contact = MakerEmail, Licence = "For music, not for resale." });
        var maker = new Person
        {
            UserName = MakerEmail, NormalizedUserName = MakerEmail.ToUpperInvariant(), Email = MakerEmail, NormalizedEmail = MakerEmail.ToUpperInvariant(),
            EmailConfirmed = true, IsMaker = true, SecurityStamp = "bench",
        };
        maker.PasswordHash = new PasswordHasher<Person>().HashPassword(maker, Password);
        db.Users.Add(maker);
        await db.SaveChangesAsync();
        return shelf;
    }

    public async Task<ProgramUnderTest> StartAsync(Bench bench, params (string Name, string Value)[] settings)
    {
        var start = new ProcessStartInfo(Path.Combine(Bench.Web, "LibraryShelf.Web"), ["--urls", Address.ToString()]) { WorkingDirectory = Bench.Web };
        start.Environment["Shelf__DataDirectory"] = Paths.Root;
        if (postgres is not null)
            (start.Environment["Shelf__Database__Provider"], start.Environment["Shelf__Database__Connection"]) = ("postgres", postgres);
        // The small library of a short run is fetched more often than a link allows.
        start.Environment["Shelf__Links__MostDownloads"] = "100";
        foreach (var (name, value) in settings)
            start.Environment[name] = value;
        var program = bench.Start(start);
        using var http = new HttpClient { BaseAddress = Address };
        for (var ready = false; !ready;)
        {
            program.EnsureRunning();
            await Task.Delay(50);
            try
            {
                ready = (await http.GetAsync(new Uri("/health/ready", UriKind.Relative))).IsSuccessStatusCode;
            }
            catch (HttpRequestException)
            {
                // Not listening yet.
            }
        }
        return program;
    }

    /// <summary>
    /// Waits until the events come to so many bytes, handed over by so many downloads: a figure that went uncounted is none. At most a minute.
    /// <paramref name="atLineEnds"/>: bytes of answers after which the client hung up at once, of which the shelf may not have heard (docs/counting.md).
    /// </summary>
    public async Task RequireCountedAsync(long bytes, int downloads, long atLineEnds = 0)
    {
        var begun = Stopwatch.GetTimestamp();
        while (true)
        {
            await using var db = Open();
            var (counted, by) = (await db.DownloadEvents.Where(e => !e.IsEvidence).SumAsync(e => e.To - e.From), await db.DownloadEvents.Select(e => e.DownloadId).Distinct().CountAsync());
            if (counted <= bytes && counted >= bytes - atLineEnds && by == downloads)
                return;
            if (counted > bytes || Stopwatch.GetElapsedTime(begun) > TimeSpan.FromMinutes(1))
                throw new InvalidOperationException($"{bytes} bytes went out by {downloads} downloads, and {counted} by {by} were counted.");
            await Task.Delay(100);
        }
    }

    public static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}
