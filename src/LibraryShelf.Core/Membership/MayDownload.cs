using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Core.Membership;

/// <summary>Why a person may, or may not, download a release.</summary>
public enum MayDownloadWhy
{
    /// <summary>The library is free: everyone, also signed out.</summary>
    Free,
    /// <summary>An active member, and the release is published.</summary>
    Member,
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
        ReleaseState State, Audience? Audience, bool IsSignedIn, bool IsMaker, bool IsActiveMember, bool TookItWhileFree, bool IsEarlyGuest);

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
        if (facts.IsActiveMember)
            return MayDownloadWhy.Member;
        return facts.TookItWhileFree ? MayDownloadWhy.TookItWhileFree : MayDownloadWhy.MembersOnly;
    }

    public static bool IsYes(MayDownloadWhy why) =>
        why is MayDownloadWhy.Free or MayDownloadWhy.Member or MayDownloadWhy.TookItWhileFree or MayDownloadWhy.Early or MayDownloadWhy.Maker;
}
