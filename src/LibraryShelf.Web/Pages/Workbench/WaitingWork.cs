using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Web.Pages.Workbench.Releases;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>Something, most often in work, that goes no further without the maker.</summary>
/// <param name="Address">Where she goes on.</param>
/// <param name="What">Which version, or what.</param>
/// <param name="Wants">What it wants of her, or what is to be read there.</param>
/// <param name="IsTrouble">It went wrong, or holds what must be fixed.</param>
internal sealed record WaitingWork(string Address, string What, string Wants, bool IsTrouble)
{
    /// <summary>What went wrong first, else in the order of the libraries, then what visitors read that nobody has looked through.</summary>
    public static IReadOnlyList<WaitingWork> Of(IEnumerable<LibraryAtWork> libraries, ShopTexts texts) =>
        [.. libraries.SelectMany(l => Of(l)).OrderBy(w => w.IsTrouble ? 0 : 1), .. Of(StartingTexts.Untouched(texts))];

    private static IEnumerable<WaitingWork> Of(IReadOnlyList<string> startingTexts)
    {
        if (startingTexts.Count == 0)
            yield break;
        var names = startingTexts.Select(t => t switch { nameof(ShopForm.Terms) => T("Terms"), nameof(ShopForm.Privacy) => T("Privacy"), _ => T("Licence for the recordings") });
        yield return new("/workbench/shop#" + new Field(ShopFieldsView.Prefix + startingTexts[0], "").Id, string.Join(", ", names),
            T("As the shelf began with it, which is no legal advice. Have it checked by somebody licensed to advise where you live; once you change it, this line goes."), false);
    }

    private static IEnumerable<WaitingWork> Of(LibraryAtWork at)
    {
        foreach (var release in new[] { at.Open, at.WaitingToPublish }.OfType<Release>())
        {
            var isTrouble = release is { Trouble: not null, WasStopped: false };
            if ((isTrouble ? T("Something went wrong. Its page says what, and what is kept.") : Next(release, at.MustFix)) is { } wants)
                yield return new(StoryStep.Address(release), $"{at.Library.Title} {release.Number}", wants, isTrouble || (release == at.Open && at.MustFix > 0));
        }
        foreach (var stopped in at.Stopped)
        {
            var (page, wants) = Stopped(stopped);
            yield return new($"/workbench/releases/{stopped.ReleaseId}/{page}", $"{at.Library.Title} {at.Releases.First(r => r.Id == stopped.ReleaseId).Number}", wants, false);
        }
        if (at.OpenFaults > 0)
            yield return new($"/workbench/libraries/{at.Library.Slug}/faults", at.Library.Title, at.OpenFaults == 1 ? T("1 thing people told you of") : T($"{at.OpenFaults} things people told you of"), false);
    }

    /// <summary>Lest it be forgotten: it does not go on before she asks.</summary>
    private static (string Page, string Wants) Stopped(StoppedWork stopped) => stopped.What switch
    {
        StoppedWhat.Comparing => ($"changes?since={stopped.Since}", T("Stopped by you: comparing it with an earlier version.")),
        StoppedWhat.Reading => ("seal", T("Stopped by you: reading its archive through. It has no checksum until then.")),
        _ => ("seal", T("Stopped by you: the making of what can be heard of it.")),
    };

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
