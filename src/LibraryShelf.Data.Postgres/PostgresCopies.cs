using System.ComponentModel;
using System.Diagnostics;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;
using Npgsql;

namespace LibraryShelf.Data.Postgres;

/// <summary>
/// Copies by PostgreSQL's own pg_dump, in its custom format (https://www.postgresql.org/docs/current/app-pgdump.html): one state, while others
/// write. It has to be installed beside the shelf, no older than the server.
/// </summary>
/// <param name="connectionString">As the settings name the database.</param>
/// <param name="services">The host's: the accounts' tables depend on its options.</param>
public sealed class PostgresCopies(string connectionString, IServiceProvider services) : IDatabaseCopies
{
    private const long Skipped = 1_000_000;

    public string FileName => "shelf.dump";

    public bool IsDatabase => false;

    public async Task<string?> CopyAsync(string file, CancellationToken cancellationToken)
    {
        var start = new ProcessStartInfo("pg_dump") { RedirectStandardError = true, UseShellExecute = false };
        foreach (var argument in (string[])["--format=custom", "--no-owner", "--no-password", $"--file={file}"])
            start.ArgumentList.Add(argument);
        Tell(start.Environment, new NpgsqlConnectionStringBuilder(connectionString));
        try
        {
            using var dump = Process.Start(start)!;
            var said = await SayAsync(dump, cancellationToken);
            return dump.ExitCode == 0 ? null : T($"pg_dump did not copy the database. What it said: {said}");
        }
        catch (Win32Exception)
        {
            return T("the program pg_dump, which copies a PostgreSQL database, is not there. Install PostgreSQL’s client programs, no older than its server, where the shelf runs.");
        }
    }

    public async Task<ShelfDb?> OpenAsync(string file, CancellationToken cancellationToken)
    {
        var options = new DbContextOptionsBuilder<ShelfDb>();
        PostgresSetup.Use(options, connectionString);
        var db = new ShelfDb(options.UseApplicationServiceProvider(services).Options);
        if ((await db.Database.GetAppliedMigrationsAsync(cancellationToken)).Any())
        {
            await PostgresSetup.BringUpToDateAsync(db, cancellationToken);
            return db;
        }
        await db.DisposeAsync();
        return null;
    }

    public Task SkipNumbersAsync(ShelfDb restored, string table, CancellationToken cancellationToken)
    {
        ArgumentNullException.ThrowIfNull(restored);
        var name = $"\"{table}\"";
        return restored.Database.ExecuteSqlAsync(
            $"SELECT setval(pg_get_serial_sequence({name}, 'Id'), nextval(pg_get_serial_sequence({name}, 'Id')) + {Skipped})", cancellationToken);
    }

    private static async Task<string> SayAsync(Process dump, CancellationToken cancellationToken)
    {
        try
        {
            var said = await dump.StandardError.ReadToEndAsync(cancellationToken);
            await dump.WaitForExitAsync(cancellationToken);
            return said.ReplaceLineEndings(" ").Trim();
        }
        finally
        {
            if (!dump.HasExited)
                dump.Kill();
        }
    }

    /// <summary>In the environment and not among the arguments, which others on the machine can see (https://www.postgresql.org/docs/current/libpq-envars.html).</summary>
    private static void Tell(IDictionary<string, string?> environment, NpgsqlConnectionStringBuilder to)
    {
        (string Name, string? Value)[] all =
        [
            ("PGHOST", to.Host), ("PGPORT", $"{to.Port}"), ("PGDATABASE", to.Database), ("PGUSER", to.Username), ("PGPASSWORD", to.Password), ("PGPASSFILE", to.Passfile),
            ("PGSSLMODE", to.SslMode switch { SslMode.VerifyCA => "verify-ca", SslMode.VerifyFull => "verify-full", var mode => $"{mode}".ToLowerInvariant() }),
            ("PGSSLROOTCERT", to.RootCertificate), ("PGSSLCERT", to.SslCertificate), ("PGSSLKEY", to.SslKey),
        ];
        foreach (var (name, value) in all.Where(v => !string.IsNullOrEmpty(v.Value)))
            environment[name] = value;
    }
}
