using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Where a release stands, in the workbench's words.</summary>
internal static class Standing
{
    public static string Of(Release release) => release.State switch
    {
        ReleaseState.Draft => release.CheckAskedAt is null ? "Draft" : "Being checked",
        ReleaseState.Checked => release.SealAskedAt is null ? "Checked" : "Being sealed",
        _ => Of(release.State),
    };

    /// <summary>The same where only the state is at hand.</summary>
    public static string Of(ReleaseState state) => state switch
    {
        ReleaseState.Draft => "Draft",
        ReleaseState.Checked => "Checked",
        ReleaseState.Sealed => "Sealed, not published",
        ReleaseState.Early => "With chosen members",
        ReleaseState.Scheduled => "Waits for its drop",
        ReleaseState.Published => "On the shelf",
        ReleaseState.Withdrawn => "Withdrawn",
        _ => throw new InvalidOperationException(state.ToString()),
    };

    /// <summary>The day that goes with it: "published 14 Oct 2025".</summary>
    public static string Since(Release release, DateTimeZone zone) => release switch
    {
        { PublishedAt: { } published } => "published " + Dates.ShortDay(published, zone),
        { SealedAt: { } sealedAt } => "sealed " + Dates.ShortDay(sealedAt, zone),
        { CheckedAt: { } checkedAt } => "checked " + Dates.ShortDay(checkedAt, zone),
        _ => "started " + Dates.ShortDay(release.CreatedAt, zone),
    };
}
