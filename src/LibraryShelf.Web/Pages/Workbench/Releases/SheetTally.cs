using LibraryShelf.Core.Checking;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Web.Pages.Workbench.Releases.Pictures;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

internal static class SheetTally
{
    public static SheetVerdict VerdictOf(SheetEntry finding) =>
        finding.ExcuseReason is not null ? SheetVerdict.Excused
        : finding.Severity switch { Severity.MustFix => SheetVerdict.MustFix, Severity.ListenAgain => SheetVerdict.ListenAgain, _ => SheetVerdict.Fine };

    /// <summary>", on 3 keys" of the picture; empty when there is none.</summary>
    public static string OnKeys(PictureKeys picture, SheetVerdict verdict)
    {
        var keys = picture.Keys.Count(k => k.Verdict == verdict);
        return keys == 0 ? "" : $", on {Plural.Of(keys, "key")}";
    }
}
