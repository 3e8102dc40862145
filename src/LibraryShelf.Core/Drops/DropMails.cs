using System.Data.Common;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Storage;

namespace LibraryShelf.Core.Drops;

/// <summary>The mails of a drop, as one statement: thousands of rows must not hold SQLite's writer. They have no text before they are sent.</summary>
internal static class DropMails
{
    /// <summary>
    /// The share of the time that mails are spread over is worked out from person and drop, so that it is the same whoever asks, evenly spread, and
    /// nobody is always the last: the ids' multiples of a prime, in 65,536ths.
    /// </summary>
    private const string Insert = """
        INSERT INTO "Outbox" ("Cause", "PersonId", "AboutId", "To", "Subject", "Text", "CreatedAt", "Attempts", "NextTryAt")
        SELECT @mail_cause || CAST(m."Id" AS TEXT), m."Id", @mail_about, '', '', '', @mail_now, 0,
            @mail_now + (@mail_spread * ((m."Id" * 40503 + @mail_about * 25747) % 65536)) / 65536
        FROM ({0}) AS m
        WHERE TRUE
        ON CONFLICT ("Cause") DO NOTHING
        """;

    /// <summary>Within the caller's transaction.</summary>
    /// <param name="db">Where to write.</param>
    /// <param name="dropId">About which.</param>
    /// <param name="now">Who is a member at this instant is written to.</param>
    /// <param name="spread">Over how long they go out; zero: at once.</param>
    /// <param name="cancellationToken">Ends it.</param>
    /// <returns>How many.</returns>
    public static async Task<int> WriteAsync(ShelfDb db, long dropId, DateTimeOffset now, TimeSpan spread, CancellationToken cancellationToken)
    {
        // What EF Core asks the database for these people stands within the statement as it is.
        await using var command = Readers(db, now).CreateDbCommand();
#pragma warning disable CA2100 // Both parts are this program's own; what varies are parameters.
        command.CommandText = Insert.Replace("{0}", command.CommandText, StringComparison.Ordinal);
#pragma warning restore CA2100
        command.Transaction = db.Database.CurrentTransaction!.GetDbTransaction();
        Add(command, "@mail_cause", $"drop:{dropId}:");
        Add(command, "@mail_about", dropId);
        Add(command, "@mail_now", now.ToUnixTimeMilliseconds());
        Add(command, "@mail_spread", (long)spread.TotalMilliseconds);
        return await command.ExecuteNonQueryAsync(cancellationToken);
    }

    /// <summary>Active members who can be written to and have not said that they want no such mails.</summary>
    private static IQueryable<long> Readers(ShelfDb db, DateTimeOffset now) => db.Users
        .Where(p => ActiveMembers.At(db, now).Contains(p.Id))
        .Where(p => !p.IsMaker && p.NormalizedEmail != null && p.DeletedAt == null && p.MergedIntoId == null)
        .Where(p => !db.MailRefusals.Any(r => r.PersonId == p.Id && r.Kind == MailKind.Drop))
        .Select(p => p.Id);

    private static void Add(DbCommand command, string name, object value)
    {
        var parameter = command.CreateParameter();
        (parameter.ParameterName, parameter.Value) = (name, value);
        command.Parameters.Add(parameter);
    }
}
