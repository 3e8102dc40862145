using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using NodaTime;
using NodaTime.Extensions;

namespace LibraryShelf.Core.Membership;

/// <summary>What would come of one line, or came of it.</summary>
/// <param name="IsNew">The shelf does not know the address yet.</param>
/// <param name="Gets">The membership that is given; null: none, because none is asked for, or because they have it already.</param>
/// <param name="IsMember">A membership is asked for, and they have one by hand for all of that time.</param>
/// <param name="IsTaken">This very list brought them here before.</param>
/// <param name="Pays">They pay for a membership here: what is given comes besides.</param>
/// <param name="Fault">Nothing is taken of the line; null: fine.</param>
/// <param name="TwinOf">With <see cref="ImportFault.TwiceInList"/>: the line further up.</param>
public sealed record ImportLine(
    int Number, string Email, bool IsNew, MemberTime? Gets, bool IsMember, bool IsTaken, bool Pays, ImportFault? Fault, int? TwinOf)
{
    /// <summary>The line changes something, so its person is written to.</summary>
    public bool IsNews => Fault is null && (IsNew || Gets is not null);
}

/// <summary>Holds lines of a list against what stands here. The same for the first press, which only looks, and for the second.</summary>
/// <param name="zone">The shop's: days begin in it.</param>
/// <param name="before">The taking of this list that was begun; null: none.</param>
/// <param name="now">When it was begun, so that "today" is the same day when it goes on later.</param>
internal sealed class ImportJudge(ShelfDb db, DateTimeZone zone, long? before, DateTimeOffset now)
{
    /// <summary>Lines judged and written at once: each is a parameter of the questions, and their transaction stays short.</summary>
    public const int AtOnce = 50;

    /// <summary>Two addresses may be one person's, who had them joined.</summary>
    private readonly Dictionary<long, int> lineOf = [];

    public static async Task<ImportJudge> OpenAsync(ShelfDb db, MemberImport? before, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var zone = await db.Shops.Where(s => s.Id == Shop.OnlyId).Select(s => s.TimeZone).SingleOrDefaultAsync(cancellationToken);
        return new(db, ReadShop.ZoneOf(zone ?? ""), before?.Id, before?.ImportedAt ?? now);
    }

    /// <param name="Person">Whose line it is, not tracked; null: nobody yet, or the line has a fault.</param>
    public sealed record Judged(ImportTextLine Text, ImportLine Line, Person? Person);

    /// <param name="lines">At most <see cref="AtOnce"/>, each batch once unless it failed.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task<List<Judged>> JudgeAsync(IReadOnlyList<ImportTextLine> lines, CancellationToken cancellationToken)
    {
        var people = await PeopleAsync([.. lines.Where(l => l.Fault is null).Select(l => EmailAddress.Normalize(l.Email))], cancellationToken);
        var ids = people.Values.Select(p => p.Id).Distinct().ToList();
        var grants = (await db.MembershipGrants.AsNoTracking().Where(g => ids.Contains(g.PersonId)).ToListAsync(cancellationToken)).ToLookup(g => g.PersonId);
        var paying = (await db.PaidMemberships.Where(m => ids.Contains(m.PersonId) && m.ActiveUntil > now).Select(m => m.PersonId).ToListAsync(cancellationToken)).ToHashSet();
        var taken = (await db.ImportedMembers.Where(m => m.ImportId == before && ids.Contains(m.PersonId)).Select(m => m.PersonId).ToListAsync(cancellationToken)).ToHashSet();
        return [.. lines.Select(l => Judge(l, people.GetValueOrDefault(EmailAddress.Normalize(l.Email)), grants, paying, taken))];
    }

    private Judged Judge(ImportTextLine text, Person? person, ILookup<long, MembershipGrant> grants, HashSet<long> paying, HashSet<long> taken)
    {
        var line = new ImportLine(text.Number, text.Email, IsNew: false, Gets: null, IsMember: false, IsTaken: false, Pays: false, text.Fault, text.TwinOf);
        if (text.Fault is not null)
            return new(text, line, null);
        if (person is { IsMaker: true })
            return new(text, line with { Fault = ImportFault.MakersOwn }, null);
        if (person is not null && !lineOf.TryAdd(person.Id, text.Number) && lineOf[person.Id] != text.Number)
            return new(text, line with { Fault = ImportFault.TwiceInList, TwinOf = lineOf[person.Id] }, null);
        if (person is not null && taken.Contains(person.Id))
            return new(text, line with { IsTaken = true }, person);
        var asked = TimeOf(text);
        // "Today" is now, not its first instant: who was made a member this morning has it.
        var from = text.From is null ? now : asked?.From;
        var has = asked is not null && person is not null && grants[person.Id].Any(g => g.From <= from && (g.Until is null || g.Until >= asked.Until));
        return new(text, line with { IsNew = person is null, Gets = has ? null : asked, IsMember = has, Pays = person is not null && paying.Contains(person.Id) }, person);
    }

    private MemberTime? TimeOf(ImportTextLine text) => text.HasMembership
        ? new(
            StartOf(text.From ?? now.ToInstant().InZone(zone).Date), text.Until is { } until ? StartOf(until.PlusDays(1)) : null)
        : null;

    private DateTimeOffset StartOf(LocalDate day) => zone.AtStartOfDay(day).ToDateTimeOffset();

    /// <summary>By address; whoever was joined with another is that other.</summary>
    private async Task<Dictionary<string, Person>> PeopleAsync(List<string> addresses, CancellationToken cancellationToken)
    {
        var found = await db.Users.AsNoTracking().Where(p => p.NormalizedEmail != null && addresses.Contains(p.NormalizedEmail)).ToListAsync(cancellationToken);
        var into = found.Select(p => p.MergedIntoId).OfType<long>().Distinct().ToList();
        var others = into.Count == 0 ? [] : await db.Users.AsNoTracking().Where(p => into.Contains(p.Id)).ToDictionaryAsync(p => p.Id, cancellationToken);
        return found.ToDictionary(p => p.NormalizedEmail!, p => p.MergedIntoId is { } other ? others[other] : p, StringComparer.Ordinal);
    }
}
