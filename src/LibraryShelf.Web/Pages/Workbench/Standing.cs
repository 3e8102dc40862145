using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Where a release stands, in the workbench's words.</summary>
internal static class Standing
{
    public static string Of(Release release) => release.State switch
    {
        ReleaseState.Draft => release.CheckAskedAt is null ? T("Draft") : T("Being checked"),
        ReleaseState.Checked => release.SealAskedAt is null ? T("Checked") : T("Being sealed"),
        _ => Of(release.State),
    };

    /// <summary>The same where only the state is at hand.</summary>
    public static string Of(ReleaseState state) => state switch
    {
        ReleaseState.Draft => T("Draft"),
        ReleaseState.Checked => T("Checked"),
        ReleaseState.Sealed => T("Sealed, not published"),
        ReleaseState.Early => T("With chosen members"),
        ReleaseState.Scheduled => T("Waits for its drop"),
        ReleaseState.Published => T("On the shelf"),
        ReleaseState.Withdrawn => T("Withdrawn"),
        _ => throw new InvalidOperationException(state.ToString()),
    };

    /// <summary>The same within a sentence, where English begins small and other languages may not.</summary>
    public static string Within(Release release) => release switch
    {
        { State: ReleaseState.Draft, CheckAskedAt: not null } => T("being checked"),
        { State: ReleaseState.Checked, SealAskedAt: not null } => T("being sealed"),
        _ => Within(release.State),
    };

    public static string Within(ReleaseState state) => state switch
    {
        ReleaseState.Draft => T("draft"),
        ReleaseState.Checked => T("checked"),
        ReleaseState.Sealed => T("sealed, not published"),
        ReleaseState.Early => T("with chosen members"),
        ReleaseState.Scheduled => T("waits for its drop"),
        ReleaseState.Published => T("on the shelf"),
        ReleaseState.Withdrawn => T("withdrawn"),
        _ => throw new InvalidOperationException(state.ToString()),
    };

    /// <summary>The day that goes with it: "published 14 Oct 2025".</summary>
    public static string Since(Release release, DateTimeZone zone) => release switch
    {
        { PublishedAt: { } published } => T($"published {Dates.ShortDay(published, zone)}"),
        { SealedAt: { } sealedAt } => T($"sealed {Dates.ShortDay(sealedAt, zone)}"),
        { CheckedAt: { } checkedAt } => T($"checked {Dates.ShortDay(checkedAt, zone)}"),
        _ => T($"started {Dates.ShortDay(release.CreatedAt, zone)}"),
    };
}
