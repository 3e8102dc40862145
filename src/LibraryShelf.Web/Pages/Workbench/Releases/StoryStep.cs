using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>The five pages on which a release's story is told, in order.</summary>
public enum StoryPage { Folder, Sheet, Changes, Words, Seal }

/// <summary>A release's step line: which page is shown, and which step the release itself has come to.</summary>
public sealed record StoryStep(ReleaseStory Story, StoryPage Shown)
{
    /// <summary>The step that wants doing now; null once sealed, when all are done.</summary>
    public StoryPage? Now => Story.Release switch
    {
        { IsSealed: true } => null,
        { State: ReleaseState.Draft, CheckAskedAt: null } => StoryPage.Folder,
        { State: ReleaseState.Draft } => StoryPage.Sheet,
        _ when Story.MustFix > 0 => StoryPage.Sheet,
        { Players.Count: 0 } or { Notes: "" } => StoryPage.Words,
        _ => StoryPage.Seal,
    };

    public static string Title(StoryPage page) => page switch
    {
        StoryPage.Folder => T("Folder"),
        StoryPage.Sheet => T("Check sheet"),
        StoryPage.Changes => T("What changed"),
        StoryPage.Words => T("Words"),
        _ => T("Seal"),
    };

    /// <summary>The library's title and the release's number.</summary>
    public string Name => $"{Story.Release.Library.Title} {Story.Release.Number}";

    /// <summary>The page's own title: "Rushes 1.2.0, check sheet". The page itself sets it: what a partial sets does not reach the head.</summary>
    public string PageTitle => Shown switch
    {
        StoryPage.Folder => T($"{Name}, folder"),
        StoryPage.Sheet => T($"{Name}, check sheet"),
        StoryPage.Changes => T($"{Name}, what changed"),
        StoryPage.Words => T($"{Name}, words"),
        _ => T($"{Name}, seal"),
    };

    public string Address(StoryPage page) => Address(Story.Release.Id, page);

    public static string Address(long releaseId, StoryPage page) => page == StoryPage.Folder
        ? $"/workbench/releases/{releaseId}"
        : $"/workbench/releases/{releaseId}/{page.ToString().ToLowerInvariant()}";

    /// <summary>The page a release is best opened on, as far as its row tells.</summary>
    public static string Address(Release release) => Address(release.Id, release switch
    {
        { IsSealed: true } => StoryPage.Seal,
        { State: ReleaseState.Draft, CheckAskedAt: null } => StoryPage.Folder,
        _ => StoryPage.Sheet,
    });
}
