using System.Text.Json;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Upkeep;

/// <summary>
/// Writes beside the backups who wants no mails, as numbers: a shelf restored from an older backup would write to them again. The file says how things
/// stand, not what happened, so that nothing of anybody who is deleted stays in it.
/// </summary>
public sealed class KeepStops(ShelfDb db, TimeProvider clock, IOptions<ShelfSettings> settings)
{
    /// <summary>The file is written under one name before it is moved; two at once would meet there.</summary>
    private static readonly SemaphoreSlim Turn = new(1);

    /// <returns>Why they could not be kept, in words for the maker; null: they are, or no folder for backups is set, or this shelf is only there to try one.</returns>
    public async Task<string?> RunAsync(CancellationToken cancellationToken)
    {
        var root = settings.Value.Backup.Directory;
        if (root.Length == 0 || await ShelfHold.IsTrialAsync(db, cancellationToken))
            return null;
        if (!Directory.Exists(root))
            return T($"Who wants no mails could not be noted beside the backups: the folder {root} is not there. Nobody is written to who does not want it, and it is noted as soon as it is. See that its disk is mounted.");
        await Turn.WaitAsync(cancellationToken);
        try
        {
            var now = await ReadAsync(cancellationToken);
            var file = new BackupFolder(root).Stops;
            if (await IsThereAsync(file, now, cancellationToken))
                return null;
            return await DiskTrouble.TryAsync(() => BackupFolder.WriteWholeAsync(file, to => JsonSerializer.SerializeAsync(to, now, KeptStops.Json, cancellationToken))) is { } words
                ? T($"Who wants no mails could not be noted beside the backups, in {root}: {words} Nobody is written to who does not want it, and it is tried again by itself.")
                : null;
        }
        finally
        {
            Turn.Release();
        }
    }

    /// <summary>A damaged file is written anew: all that it has to say is known here.</summary>
    private static async Task<bool> IsThereAsync(string file, KeptStops now, CancellationToken cancellationToken)
    {
        try
        {
            return await KeptStops.ReadAsync(file, cancellationToken) is { } there && there.IsSame(now);
        }
        catch (JsonException)
        {
            return false;
        }
    }

    private async Task<KeptStops> ReadAsync(CancellationToken cancellationToken)
    {
        // Before the rows are read: what changes meanwhile is not in it.
        var at = clock.GetUtcNow();
        var mark = await KeptStops.MarkAsync(db, cancellationToken);
        var refusals = await db.MailRefusals.AsNoTracking().OrderBy(r => r.PersonId).Select(r => new { r.PersonId, r.Kind }).ToListAsync(cancellationToken);
        var closed = db.MailSuppressions.Select(s => s.NormalizedEmail);
        return new(
            at, mark, refusals.GroupBy(r => r.Kind).OrderBy(g => g.Key).ToDictionary(g => g.Key.ToString(), g => g.Select(r => r.PersonId).ToArray(), StringComparer.Ordinal),
            await db.Users.Where(p => closed.Contains(p.NormalizedEmail!)).OrderBy(p => p.Id).Select(p => p.Id).ToArrayAsync(cancellationToken),
            await db.Followers.Where(f => closed.Contains(f.NormalizedEmail)).OrderBy(f => f.Id).Select(f => f.Id).ToArrayAsync(cancellationToken),
            await db.Followers.Where(f => f.ConfirmedAt != null).OrderBy(f => f.Id).Select(f => f.Id).ToArrayAsync(cancellationToken));
    }
}

/// <param name="At">All of it stood so then.</param>
/// <param name="Mark">Tells whether anything has changed since (<see cref="MarkAsync"/>).</param>
/// <param name="Refusals">Numbers of people, by the kind of mail they refuse.</param>
/// <param name="ClosedPeople">Numbers of people whose mailbox refused for good.</param>
/// <param name="ClosedFollowers">Rows of followers whose mailbox did.</param>
/// <param name="Followers">Rows of followers who are written to: whoever is not among them has stopped.</param>
internal sealed record KeptStops(DateTimeOffset At, string Mark, IReadOnlyDictionary<string, long[]> Refusals, long[] ClosedPeople, long[] ClosedFollowers, long[] Followers)
{
    internal static readonly JsonSerializerOptions Json = new(JsonSerializerDefaults.Web);

    /// <returns>Null: there is no file. Throws JsonException on a damaged one.</returns>
    public static async Task<KeptStops?> ReadAsync(string file, CancellationToken cancellationToken)
    {
        if (!File.Exists(file))
            return null;
        try
        {
            await using var from = File.OpenRead(file);
            return await JsonSerializer.DeserializeAsync<KeptStops>(from, Json, cancellationToken) is { Mark: not null, Refusals: not null, ClosedPeople: not null, ClosedFollowers: not null, Followers: not null } kept
                ? kept : throw new JsonException(T("It says nothing."));
        }
        catch (JsonException bad)
        {
            throw new JsonException(T($"{file} is damaged. Another copy of the folder may have it; moved away, mails stopped since the backup are not stopped again"), bad);
        }
    }

    /// <summary>
    /// Another text after any row was written or went: numbers are never given twice, so a new row raises the highest, and one that goes lowers the count. What a
    /// merging of two accounts moves changes nothing in it; the nightly backup looks at all of it.
    /// </summary>
    public static async Task<string> MarkAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        var refusals = await db.MailRefusals.GroupBy(_ => 1).Select(g => new { Count = g.Count(), Last = g.Max(r => r.Id) }).SingleOrDefaultAsync(cancellationToken);
        var closed = await db.MailSuppressions.GroupBy(_ => 1).Select(g => new { Count = g.Count(), Last = g.Max(s => s.Id) }).SingleOrDefaultAsync(cancellationToken);
        var followers = await db.Followers.Where(f => f.ConfirmedAt != null).GroupBy(_ => 1).Select(g => new { Count = g.Count(), Last = g.Max(f => f.ConfirmedAt) }).SingleOrDefaultAsync(cancellationToken);
        return $"{refusals?.Count}-{refusals?.Last} {closed?.Count}-{closed?.Last} {followers?.Count}-{followers?.Last?.ToUnixTimeMilliseconds()}";
    }

    public bool IsSame(KeptStops other) => Mark == other.Mark && ClosedPeople.SequenceEqual(other.ClosedPeople) && ClosedFollowers.SequenceEqual(other.ClosedFollowers)
        && Followers.SequenceEqual(other.Followers) && Refusals.Count == other.Refusals.Count
        && Refusals.All(r => other.Refusals.TryGetValue(r.Key, out var theirs) && theirs.SequenceEqual(r.Value));

    /// <summary>
    /// On a restored shelf: nobody in it is written to any more who stopped it since. Nothing is taken back by it: whoever wanted mails again since says so again.
    /// </summary>
    /// <returns>How many stops were not in the backup.</returns>
    public async Task<int> ReplayAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var added = await RefuseAsync(db, cancellationToken) + await SuppressAsync(db, cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        var stopped = (await db.Followers.Where(f => f.ConfirmedAt != null).Select(f => f.Id).ToListAsync(cancellationToken)).Except(Followers).ToList();
        foreach (var some in stopped.Chunk(500))
            added += await db.Followers.Where(f => some.Contains(f.Id)).ExecuteDeleteAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return added;
    }

    private async Task<int> RefuseAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        var people = (await db.Users.Where(p => p.DeletedAt == null && p.MergedIntoId == null).Select(p => p.Id).ToListAsync(cancellationToken)).ToHashSet();
        var there = (await db.MailRefusals.Select(r => new { r.PersonId, r.Kind }).ToListAsync(cancellationToken)).Select(r => (r.PersonId, r.Kind)).ToHashSet();
        var added = 0;
        foreach (var (name, ids) in Refusals)
        {
            // A kind that only a later program knows is of no mail this one writes.
            if (!Enum.TryParse<MailKind>(name, out var kind))
                continue;
            foreach (var id in ids.Where(id => people.Contains(id) && there.Add((id, kind))))
            {
                db.MailRefusals.Add(new MailRefusal { PersonId = id, Kind = kind, At = At });
                added++;
            }
        }
        return added;
    }

    private async Task<int> SuppressAsync(ShelfDb db, CancellationToken cancellationToken)
    {
        var (people, followers) = (ClosedPeople.ToHashSet(), ClosedFollowers.ToHashSet());
        var addresses = (await db.Users.Where(p => p.NormalizedEmail != null).Select(p => new { p.Id, p.NormalizedEmail }).ToListAsync(cancellationToken))
            .Where(p => people.Contains(p.Id)).Select(p => p.NormalizedEmail!)
            .Concat((await db.Followers.Select(f => new { f.Id, f.NormalizedEmail }).ToListAsync(cancellationToken)).Where(f => followers.Contains(f.Id)).Select(f => f.NormalizedEmail))
            .ToHashSet(StringComparer.Ordinal);
        addresses.ExceptWith(await db.MailSuppressions.Select(s => s.NormalizedEmail).ToListAsync(cancellationToken));
        db.MailSuppressions.AddRange(addresses.Select(a => new MailSuppression { NormalizedEmail = a, Because = Refused, At = At }));
        return addresses.Count;
    }

    internal static string Refused => T("It refused mails for good before the shelf was restored from a backup.");
}
