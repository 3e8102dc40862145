using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;
using NodaTime;

namespace LibraryShelf.Core.Downloads;

/// <summary>What the button of a whole month comes to.</summary>
public abstract record MakeDropLinkOutcome
{
    private MakeDropLinkOutcome() { }

    /// <summary>A link was made: send the client to its path.</summary>
    public sealed record Made(MakeLinkOutcome.Made Link) : MakeDropLinkOutcome;

    /// <summary>No link, no row; why not, in words for the person. <paramref name="IsTheirs"/>: they may have it, and it is not to be had just now.</summary>
    public sealed record Refused(string Words, bool IsTheirs) : MakeDropLinkOutcome;
}

/// <summary>Makes a signed link to a month as one archive, when this person may have every version in it.</summary>
public sealed class MakeDropLink(ShelfDb db, ReadRights rights, FindDropArchive findArchive, TimeProvider clock, IOptions<ShelfSettings> settings, WhoAsks? who = null)
{
    private static string OneByOne => T("Take the others one by one.");

    /// <param name="month">One whose drop went out.</param>
    /// <param name="personId">Null: a visitor who is not signed in.</param>
    /// <param name="cancellationToken">Stops before anything is written.</param>
    public async Task<MakeDropLinkOutcome> RunAsync(YearMonth month, long? personId, CancellationToken cancellationToken)
    {
        var versions = await (from d in db.Drops
                              where d.Month == month && d.State == DropState.Sent
                              join r in db.DropReleases on d.Id equals r.DropId
                              join v in db.Releases on r.ReleaseId equals v.Id
                              orderby r.Place, r.Id
                              select new { DropId = d.Id, v.Id, Name = v.Library.Title + " " + v.Number }).ToListAsync(cancellationToken);
        if (versions.Count == 0)
            return new MakeDropLinkOutcome.Refused(FindDropArchive.NotOut, IsTheirs: false);
        var whys = new List<MayDownloadWhy>();
        foreach (var version in versions)
        {
            var why = await rights.RunAsync(version.Id, personId, cancellationToken);
            if (!MayDownload.IsYes(why))
                return new MakeDropLinkOutcome.Refused(Words(why, version.Name), IsTheirs: false);
            whys.Add(why);
        }
        return await findArchive.RunAsync(versions[0].DropId, cancellationToken) switch
        {
            FindDropArchiveOutcome.Found found => new MakeDropLinkOutcome.Made(
                await new LinkMaking(db, clock, settings.Value.Links, who).MakeAsync(found.Archive, personId, Why(whys), cancellationToken)),
            FindDropArchiveOutcome.None none => new MakeDropLinkOutcome.Refused(none.Why, IsTheirs: true),
            _ => throw new InvalidOperationException("A month's archive is found or there is none."),
        };
    }

    /// <summary>Free only when all of it is: what is taken while it is free stays theirs, and what is for members is not taken so.</summary>
    private static MayDownloadWhy Why(List<MayDownloadWhy> whys)
    {
        var first = whys.FindIndex(w => w != MayDownloadWhy.Free);
        return first < 0 ? MayDownloadWhy.Free : whys[first];
    }

    private static string Words(MayDownloadWhy why, string name) => why switch
    {
        MayDownloadWhy.Withdrawn => T($"{name} of this month was withdrawn, so there is no whole month any more. {OneByOne}"),
        MayDownloadWhy.SignInFirst => T("This month is for members. Sign in first, then press again."),
        MayDownloadWhy.MembersOnly => T($"The whole month is for members, and {name} is not among what is yours. What is yours can be fetched one by one."),
        _ => T($"{name} of this month is not on the shelf, so there is no whole month just now. {OneByOne}"),
    };
}
