using LibraryShelf.Core.Checking;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

internal static class SheetTally
{
    public static SheetVerdict VerdictOf(SheetEntry finding) =>
        finding.ExcuseReason is not null ? SheetVerdict.Excused
        : finding.Severity switch { Severity.MustFix => SheetVerdict.MustFix, Severity.ListenAgain => SheetVerdict.ListenAgain, _ => SheetVerdict.Fine };
}
