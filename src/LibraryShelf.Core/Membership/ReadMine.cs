using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;
using Semver;

namespace LibraryShelf.Core.Membership;

/// <summary>A version a person may download, and why. <paramref name="TakenAt"/>: when they last started a download of it.</summary>
public sealed record MyRelease(long ReleaseId, string Number, DateTimeOffset? PublishedAt, MayDownloadWhy Why, long Bytes, DateTimeOffset? TakenAt);

/// <summary>A box with at least one version the person may download, newest number first.</summary>
public sealed record MyLibrary(long LibraryId, string Slug, string Title, Paint Paint, Audience? Audience, IReadOnlyList<MyRelease> Releases);

/// <summary>What is theirs. <paramref name="MemberUntil"/> is null for a member without an end date and for someone who is no member.</summary>
public sealed record Mine(bool IsActiveMember, DateTimeOffset? MemberUntil, IReadOnlyList<MyLibrary> Libraries)
{
    /// <summary>The boxes with versions that came out after an instant and were not taken yet, and those versions alone; none when it is null.</summary>
    public IReadOnlyList<MyLibrary> NewSince(DateTimeOffset? instant) =>
    [
        .. Libraries.Select(l => l with { Releases = [.. l.Releases.Where(r => r.PublishedAt > instant && r.TakenAt is null)] }).Where(l => l.Releases.Count > 0),
    ];
}

/// <summary>Everything a signed-in person may download now, by the same rule that guards each download.</summary>
public sealed class ReadMine(ShelfDb db, TimeProvider clock)
{
    public async Task<Mine> RunAsync(long personId, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        var person = await PersonFacts.LoadAsync(db, personId, now, cancellationToken);
        var libraries = await db.Libraries.AsNoTracking().AsSplitQuery()
            .Include(l => l.Audiences).Include(l => l.Releases)
            .OrderBy(l => l.Title).ToListAsync(cancellationToken);
        var archives = await db.Archives.Where(a => a.Kind == ArchiveKind.Full)
            .GroupBy(a => a.ReleaseId).Select(g => new { g.Key, Length = g.Max(a => a.Length) })
            .ToDictionaryAsync(a => a.Key, a => a.Length, cancellationToken);
        var taken = (await db.Downloads.Where(d => d.PersonId == personId && d.StartedAt != null).Select(d => new { d.ReleaseId, d.StartedAt })
            .Concat(MonthFetches.Of(db).Where(f => f.PersonId == personId).Select(f => new { f.ReleaseId, StartedAt = (DateTimeOffset?)f.StartedAt }))
            .GroupBy(d => d.ReleaseId).Select(g => new { g.Key, At = g.Max(d => d.StartedAt) })
            .ToListAsync(cancellationToken)).ToDictionary(d => d.Key, d => d.At);
        var mine = libraries.Select(l => new MyLibrary(l.Id, l.Slug, l.Title, l.Paint, l.AudienceAt(now), Releases(l)));
        return new(person.IsActiveMember, await MemberUntilAsync(personId, now, cancellationToken), [.. mine.Where(l => l.Releases.Count > 0)]);

        List<MyRelease> Releases(Library library) =>
        [
            .. library.Releases
                .Select(r => (release: r, why: person.MayHave(r, library, now)))
                .Where(r => MayDownload.IsYes(r.why) && archives.ContainsKey(r.release.Id))
                .OrderByDescending(r => SemVersion.Parse(r.release.Number, SemVersionStyles.Strict), SemVersion.PrecedenceComparer)
                .Select(r => new MyRelease(r.release.Id, r.release.Number, r.release.PublishedAt, r.why,
                    archives[r.release.Id], taken.GetValueOrDefault(r.release.Id))),
        ];
    }

    /// <summary>The latest end among what holds now; null when one has none, such as a membership that goes on by itself.</summary>
    private async Task<DateTimeOffset?> MemberUntilAsync(long personId, DateTimeOffset now, CancellationToken cancellationToken)
    {
        var grants = await db.MembershipGrants.AsNoTracking().Where(g => g.PersonId == personId).ToListAsync(cancellationToken);
        var active = grants.FindAll(g => g.IsActiveAt(now));
        var paid = await db.PaidMemberships.AsNoTracking().Where(m => m.PersonId == personId && m.StartedAt <= now && m.ActiveUntil > now).ToListAsync(cancellationToken);
        var goesOn = active.Exists(g => g.Until is null) || paid.Exists(m => m.LeavesAt is null && !m.IsPaused);
        return goesOn ? null : active.Select(g => g.Until).Concat(paid.Select(m => (DateTimeOffset?)m.ActiveUntil)).Max();
    }
}
