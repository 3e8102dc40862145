using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Membership;
using LibraryShelf.Web.Setup.Demo.Sounds;
using NodaTime;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>A version that could be downloaded; length in bytes of its archive.</summary>
internal sealed record ShelvedRelease(Release Release, Library Library, long ArchiveId, long Length);

/// <summary>Someone the shop knows, with the memberships given.</summary>
internal sealed record KnownPerson(long Id, string Email, IReadOnlyList<MembershipGrant> Grants, DateTimeZone Zone)
{
    public bool HasMonthAt(YearMonth? month, DateTimeOffset instant) =>
        month is { } one && Grants.Any(g => PaidMonths.OfGift(g.From, g.Until, instant, Zone).Contains(one));

    public bool IsMemberAt(DateTimeOffset instant) => Grants.Any(g => g.IsActiveAt(instant));
}

/// <summary>
/// An invented but plausible past of downloads: more at weekends and after a new version, mostly of the newest, some broken off,
/// some resumed, a few links never used. Every one was allowed by the rule of rights on its day.
/// </summary>
internal sealed class DownloadPast(IReadOnlyList<ShelvedRelease> shelf, IReadOnlyList<KnownPerson> people)
{
    private const double UsualADay = 4.2;
    private const double WeekendShare = 1.7;
    private const double AfterRelease = 7;
    /// <summary>Days after which the rush for a new version has fallen to a third.</summary>
    private const double RushDays = 2.5;
    private const double OlderVersionShare = 0.09;
    private const double MemberShareOfFree = 0.3;
    private const double NeverStarted = 0.05;
    private const double BrokenOff = 0.13;
    private const double Resumed = 0.12;

    private readonly SplitMix _chance = SplitMix.For("downloads");

    public List<Download> Downloads { get; } = [];
    public List<DownloadEvent> Events { get; } = [];

    /// <summary>Invents the days from <paramref name="days"/> ago until <paramref name="now"/>.</summary>
    public void Invent(DateTimeOffset now, int days)
    {
        for (var day = days; day >= 0; day--)
        {
            var midday = now.AddDays(-day);
            var many = DayCount(midday);
            for (var i = 0; i < many; i++)
            {
                var at = midday.AddMinutes(-1439 * _chance.Unit());
                if (Choose(at) is { } release)
                    Add(release, PersonFor(release, at), at);
            }
        }
    }

    /// <summary>One download that went through, by a person known by name.</summary>
    public void AddWhole(ShelvedRelease release, KnownPerson person, DateTimeOffset at) =>
        Write(NewDownload(release, person, at), release, at, release.Length, null);

    private int DayCount(DateTimeOffset day)
    {
        var usual = UsualADay * (day.DayOfWeek is DayOfWeek.Saturday or DayOfWeek.Sunday ? WeekendShare : 1);
        var rush = shelf.Sum(s => AfterRelease * Rush(s, day));
        return (int)((usual + rush) * (0.6 + (0.8 * _chance.Unit())));
    }

    private static double Rush(ShelvedRelease release, DateTimeOffset at)
    {
        var days = (at - release.Release.PublishedAt!.Value).TotalDays;
        return days < 0 ? 0 : Math.Exp(-days / RushDays);
    }

    private ShelvedRelease? Choose(DateTimeOffset at)
    {
        var there = shelf.Where(s => s.Release.PublishedAt <= at).ToList();
        var newest = there.GroupBy(s => s.Library.Id).Select(g => g.MaxBy(s => s.Release.PublishedAt)!).ToHashSet();
        var weights = there.ConvertAll(s => newest.Contains(s) ? 1 + (6 * Rush(s, at)) : OlderVersionShare);
        var mark = _chance.Unit() * weights.Sum();
        for (var i = 0; i < there.Count; i++)
        {
            mark -= weights[i];
            if (mark <= 0)
                return there[i];
        }
        return there.LastOrDefault();
    }

    private KnownPerson? PersonFor(ShelvedRelease release, DateTimeOffset at)
    {
        var isFree = release.Library.AudienceAt(at) == Audience.Free;
        var members = people.Where(p => p.IsMemberAt(at)).ToList();
        return members.Count == 0 || (isFree && _chance.Unit() > MemberShareOfFree)
            ? null
            : members[(int)(_chance.Unit() * members.Count)];
    }

    private void Add(ShelvedRelease release, KnownPerson? person, DateTimeOffset at)
    {
        var download = NewDownload(release, person, at);
        if (!MayDownload.IsYes(download.Why))
            return;
        var fate = _chance.Unit();
        if (fate < NeverStarted)
            Downloads.Add(download);
        else if (fate < NeverStarted + BrokenOff)
            Write(download, release, at, (long)(release.Length * (0.1 + (0.8 * _chance.Unit()))), null);
        else if (fate < NeverStarted + BrokenOff + Resumed)
            Write(download, release, at, release.Length, (long)(release.Length * (0.2 + (0.6 * _chance.Unit()))));
        else
            Write(download, release, at, release.Length, null);
    }

    private Download NewDownload(ShelvedRelease release, KnownPerson? person, DateTimeOffset at)
    {
        var startBy = at.AddMinutes(30);
        return new Download
        {
            Id = NewId(), ArchiveId = release.ArchiveId, ReleaseId = release.Release.Id, LibraryId = release.Library.Id,
            PersonId = person?.Id, MadeAt = at, StartBy = startBy, FinishBy = startBy.AddHours(24),
            Why = MayDownload.Decide(new(
                release.Release.State, release.Library.AudienceAt(at), person is not null, IsMaker: false,
                person?.IsMemberAt(at) == true, TookItWhileFree: false, IsEarlyGuest: false,
                HasPaidMonth: person?.HasMonthAt(release.Library.Month, at) == true, KeptAfterLeaving: false)),
        };
    }

    // 128 bits in base64url, like a real one.
    private string NewId()
    {
        var bytes = new byte[16];
        BitConverter.TryWriteBytes(bytes, _chance.Next());
        BitConverter.TryWriteBytes(bytes.AsSpan(8), _chance.Next());
        return System.Buffers.Text.Base64Url.EncodeToString(bytes);
    }

    private void Write(Download download, ShelvedRelease release, DateTimeOffset at, long until, long? brokenAt)
    {
        const double BytesPerSecond = 2_500_000;
        download.StartedAt = at.AddSeconds(1 + (4 * _chance.Unit()));
        Downloads.Add(download);
        var firstEnd = brokenAt ?? until;
        var end = download.StartedAt.Value.AddSeconds(firstEnd / BytesPerSecond);
        Events.Add(new DownloadEvent { DownloadId = download.Id, From = 0, To = firstEnd, BeginsAnswer = true, At = end });
        if (brokenAt is null)
            return;
        end = end.AddMinutes(2 + (40 * _chance.Unit()));
        // A browser that goes on proves what it has.
        Events.Add(new DownloadEvent { DownloadId = download.Id, From = 0, To = firstEnd, IsEvidence = true, At = end });
        Events.Add(new DownloadEvent { DownloadId = download.Id, From = firstEnd, To = until, BeginsAnswer = true, At = end });
    }
}
