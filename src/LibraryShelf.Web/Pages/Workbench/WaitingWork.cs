using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Web.Pages.Workbench.Releases;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Something in work that goes no further without the maker.</summary>
/// <param name="Address">Where she goes on.</param>
/// <param name="What">Which version, or what.</param>
/// <param name="Wants">What it wants of her; "": <paramref name="What"/> says it.</param>
/// <param name="IsTrouble">It went wrong, or holds what must be fixed.</param>
internal sealed record WaitingWork(string Address, string What, string Wants, bool IsTrouble)
{
    /// <summary>What went wrong first, else in the order of the libraries.</summary>
    public static IReadOnlyList<WaitingWork> Of(IEnumerable<LibraryAtWork> libraries) =>
        [.. libraries.SelectMany(l => Of(l)).OrderBy(w => w.IsTrouble ? 0 : 1)];

    private static IEnumerable<WaitingWork> Of(LibraryAtWork at)
    {
        foreach (var release in new[] { at.Open, at.WaitingToPublish }.OfType<Release>())
        {
            var isTrouble = release is { Trouble: not null, WasStopped: false };
            if ((isTrouble ? T("Something went wrong. Its page says what, and what is kept.") : Next(release, at.MustFix)) is { } wants)
                yield return new(StoryStep.Address(release), $"{at.Library.Title} {release.Number}", wants, isTrouble || (release == at.Open && at.MustFix > 0));
        }
        if (at.OpenFaults > 0)
            yield return new($"/workbench/libraries/{at.Library.Slug}/faults", $"{at.Library.Title}: {(at.OpenFaults == 1 ? T("1 thing people told you of") : T($"{at.OpenFaults} things people told you of"))}", "", false);
    }

    /// <summary>Null: it goes on by itself.</summary>
    private static string? Next(Release release, int mustFix) => release switch
    {
        { State: ReleaseState.Draft, CheckAskedAt: null } => T("A draft. Send its folder, and let it be checked."),
        { State: ReleaseState.Checked, SealAskedAt: null } when mustFix > 0 => T($"Checked. {Plural.Opening(mustFix, "thing")} must be fixed or excused before it can be sealed."),
        { State: ReleaseState.Checked, SealAskedAt: null } => T("Checked. Write its words, and seal it."),
        { State: ReleaseState.Sealed, PublishAfterSealFor: null } => T("Sealed, not published. Publish it, or let a drop bring it."),
        _ => null,
    };
}
