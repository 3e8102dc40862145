using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Core.Membership;

/// <summary>Why a person may, or may not, download a release.</summary>
public enum MayDownloadWhy
{
    /// <summary>The library is free: everyone, also signed out.</summary>
    Free,
    /// <summary>They paid for the month whose box it is: theirs for good, with every later version.</summary>
    PaidMonth,
    /// <summary>An active member, and the release is published.</summary>
    Member,
    /// <summary>No member any more, but they joined, or the shop is now, under the kinder rule: it was there for members when they left.</summary>
    KeptAfterLeaving,
    /// <summary>Not free any more, but this person took this very version while it was.</summary>
    TookItWhileFree,
    /// <summary>Chosen to have this version before it is published.</summary>
    Early,
    /// <summary>The maker may always fetch her own sealed releases.</summary>
    Maker,
    NotOnTheShelf,
    Withdrawn,
    SignInFirst,
    MembersOnly,
}

/// <summary>The rule of rights: one pure function, so that each line of docs/membership.md is a test.</summary>
public static class MayDownload
{
    /// <summary>What the rule needs to know; no clock, no database.</summary>
    public readonly record struct Facts(
        ReleaseState State, Audience? Audience, bool IsSignedIn, bool IsMaker, bool IsActiveMember, bool TookItWhileFree, bool IsEarlyGuest,
        bool HasPaidMonth, bool KeptAfterLeaving);

    public static MayDownloadWhy Decide(in Facts facts)
    {
        if (facts.IsMaker && facts.State is not (ReleaseState.Draft or ReleaseState.Checked))
            return MayDownloadWhy.Maker;
        if (facts.State == ReleaseState.Withdrawn)
            return MayDownloadWhy.Withdrawn;
        if (facts is { State: ReleaseState.Early, IsEarlyGuest: true })
            return MayDownloadWhy.Early;
        if (facts.State != ReleaseState.Published || facts.Audience is null)
            return MayDownloadWhy.NotOnTheShelf;
        if (facts.Audience == Audience.Free)
            return MayDownloadWhy.Free;
        if (!facts.IsSignedIn)
            return MayDownloadWhy.SignInFirst;
        // The strongest right is named: a paid month stays when the membership ends.
        if (facts.HasPaidMonth)
            return MayDownloadWhy.PaidMonth;
        if (facts.IsActiveMember)
            return MayDownloadWhy.Member;
        if (facts.KeptAfterLeaving)
            return MayDownloadWhy.KeptAfterLeaving;
        return facts.TookItWhileFree ? MayDownloadWhy.TookItWhileFree : MayDownloadWhy.MembersOnly;
    }

    public static bool IsYes(MayDownloadWhy why) =>
        why is MayDownloadWhy.Free or MayDownloadWhy.PaidMonth or MayDownloadWhy.Member or MayDownloadWhy.KeptAfterLeaving
            or MayDownloadWhy.TookItWhileFree or MayDownloadWhy.Early or MayDownloadWhy.Maker;
}
