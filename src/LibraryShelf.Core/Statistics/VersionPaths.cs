using LibraryShelf.Core.Catalog;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>A person finished downloading a version, by whatever archive.</summary>
internal sealed record FinishedVersion(long PersonId, long LibraryId, long ReleaseId, DateTimeOffset At);

/// <param name="Id">Of the version.</param>
/// <param name="LibraryId">Its library.</param>
/// <param name="Number">SemVer.</param>
/// <param name="OutAt">Null: it never came out.</param>
internal sealed record KnownVersion(long Id, long LibraryId, string Number, DateTimeOffset? OutAt);

/// <summary>The versions each person had as their newest, one after the other: no database, no clock. docs/counting.md says the rule in words.</summary>
internal static class VersionPaths
{
    /// <param name="finished">In any order; all of these people.</param>
    /// <param name="versions">At least all of their libraries.</param>
    /// <param name="zone">Whose days.</param>
    public static List<PersonVersion> Of(IEnumerable<FinishedVersion> finished, IReadOnlyList<KnownVersion> versions, DateTimeZone zone)
    {
        var ranks = versions.OrderBy(v => v.Number, ReleaseNumbers.ByPrecedence).Select((v, rank) => (v.Id, rank)).ToDictionary(v => v.Id, v => v.rank);
        var byLibrary = versions.ToLookup(v => v.LibraryId);
        return [.. finished.Where(f => ranks.ContainsKey(f.ReleaseId)).GroupBy(f => (f.PersonId, f.LibraryId)).SelectMany(g => PathOf([.. g], ranks, [.. byLibrary[g.Key.LibraryId]], zone))];
    }

    private static List<PersonVersion> PathOf(List<FinishedVersion> finished, Dictionary<long, int> ranks, List<KnownVersion> versions, DateTimeZone zone)
    {
        var path = new List<PersonVersion>();
        // Of what came in one instant (a month with two versions of a library in it) the highest alone.
        foreach (var one in finished.OrderBy(f => f.At).ThenByDescending(f => ranks[f.ReleaseId]))
        {
            if (path.Count > 0 && ranks[path[^1].ReleaseId] >= ranks[one.ReleaseId])
                continue;
            if (path.Count > 0)
                path[^1].NextReleaseId = one.ReleaseId;
            path.Add(new PersonVersion
            {
                PersonId = one.PersonId, LibraryId = one.LibraryId, ReleaseId = one.ReleaseId, FromReleaseId = path.Count == 0 ? 0 : path[^1].ReleaseId,
                LatestThenId = path.Count == 0 ? LatestAt(one.At, versions) : path[0].LatestThenId,
                Since = one.At, Day = Instant.FromDateTimeOffset(one.At).InZone(zone).Date,
            });
        }
        return path;
    }

    /// <summary>The version that had come out last by then; of two that came out together, the one with the higher id; 0: none had.</summary>
    private static long LatestAt(DateTimeOffset at, List<KnownVersion> versions) =>
        versions.Where(v => v.OutAt <= at).OrderBy(v => v.OutAt).ThenBy(v => v.Id).LastOrDefault()?.Id ?? 0;
}
