using System.Data.Common;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>The mails of a drop, or of a month that slips, as one statement: thousands of rows must not hold SQLite's writer. Composed when sent.</summary>
internal static class DropMails
{
    /// <summary>
    /// The share of the time that mails are spread over is worked out from person and drop, so that it is the same whoever asks, evenly spread, and
    /// nobody is always the last: the ids' multiples of a prime, in 65,536ths.
    /// </summary>
    private const string Insert = """
        INSERT INTO "Outbox" ("Cause", "PersonId", "AboutId", "To", "Subject", "Text", "CreatedAt", "Attempts", "NextTryAt")
        SELECT @mail_cause || CAST(m."Id" AS TEXT) || @mail_mark, m."Id", @mail_drop, '', '', '', @mail_now, 0,
            @mail_now + (@mail_spread * ((m."Id" * 40503 + @mail_drop * 25747) % 65536)) / 65536
        FROM ({0}) AS m
        WHERE TRUE
        ON CONFLICT ("Cause") DO NOTHING
        """;

    /// <summary>That it is out, to members and to those who have its month without being one any more. Within the caller's transaction.</summary>
    /// <param name="db">Where to write.</param>
    /// <param name="drop">About which.</param>
    /// <param name="now">Who is a member, or has its month, at this instant is written to.</param>
    /// <param name="spread">Over how long they go out; zero: at once.</param>
    /// <param name="cancellationToken">Ends it.</param>
    /// <returns>How many.</returns>
    public static async Task<int> WriteAsync(ShelfDb db, Drop drop, DateTimeOffset now, TimeSpan spread, CancellationToken cancellationToken) =>
        await InsertAsync(db, await WhoseAsync(db, drop.Month, now, cancellationToken), ("drop", ""), drop.Id, now, spread, cancellationToken);

    /// <summary>Works out the question of <see cref="WriteAsync"/> and <see cref="WriteSlipAsync"/> without asking it.</summary>
    public static async Task WarmUpAsync(ShelfDb db, YearMonth month, DateTimeOffset now, CancellationToken cancellationToken) =>
        (await WhoseAsync(db, month, now, cancellationToken)).CreateDbCommand().Dispose();

    /// <summary>Whom rights give the month: members, and who paid for it or was given it and has left since.</summary>
    private static async Task<IQueryable<long>> WhoseAsync(ShelfDb db, YearMonth month, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var given = await MonthHolders.OfEndedGiftsAsync(db, month, now, cancellationToken);
        return Readers(db).Where(p => ActiveMembers.At(db, now).Contains(p.Id)
            || db.PaidMonths.Any(m => m.PersonId == p.Id && m.Month == month && m.OpensAt <= now)
            // One parameter, however many they are.
            || EF.Parameter(given).Contains(p.Id)).Select(p => p.Id);
    }

    /// <summary>That it slips, to members and to those who have its month. Within the caller's transaction.</summary>
    /// <param name="db">Where to write.</param>
    /// <param name="drop">Which slips; told of at its <see cref="Drop.SlippedAt"/>, which tells one telling from another.</param>
    /// <param name="spread">Over how long they go out; zero: at once.</param>
    /// <param name="cancellationToken">Ends it.</param>
    /// <returns>How many.</returns>
    public static async Task<int> WriteSlipAsync(ShelfDb db, Drop drop, TimeSpan spread, CancellationToken cancellationToken)
    {
        var now = drop.SlippedAt!.Value;
        return await InsertAsync(db, await WhoseAsync(db, drop.Month, now, cancellationToken), ("slip", drop.SlipMark), drop.Id, now, spread, cancellationToken);
    }

    private static async Task<int> InsertAsync(
        ShelfDb db, IQueryable<long> readers, (string Word, string Mark) cause, long dropId, DateTimeOffset now, TimeSpan spread, CancellationToken cancellationToken)
    {
        // What EF Core asks the database for these people stands within the statement as it is.
        await using var command = readers.CreateDbCommand();
#pragma warning disable CA2100 // All parts are this program's own; what varies are parameters.
        command.CommandText = Insert.Replace("{0}", command.CommandText, StringComparison.Ordinal);
#pragma warning restore CA2100
        command.Transaction = db.Database.CurrentTransaction!.GetDbTransaction();
        Add(command, "@mail_cause", $"{cause.Word}:{dropId}:");
        Add(command, "@mail_mark", cause.Mark.Length == 0 ? "" : ":" + cause.Mark);
        Add(command, "@mail_drop", dropId);
        Add(command, "@mail_now", now.ToUnixTimeMilliseconds());
        Add(command, "@mail_spread", (long)spread.TotalMilliseconds);
        return await command.ExecuteNonQueryAsync(cancellationToken);
    }

    /// <summary>Who can be written to and has not said that they want no such mails.</summary>
    private static IQueryable<Person> Readers(ShelfDb db) => db.Users
        .Where(p => !p.IsMaker && p.NormalizedEmail != null && p.DeletedAt == null && p.MergedIntoId == null)
        .Where(p => !db.MailRefusals.Any(r => r.PersonId == p.Id && r.Kind == MailKind.Drop));

    private static void Add(DbCommand command, string name, object value)
    {
        var parameter = command.CreateParameter();
        (parameter.ParameterName, parameter.Value) = (name, value);
        command.Parameters.Add(parameter);
    }
}
