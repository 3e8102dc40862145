namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>The pages of the figures, in the order in which they are linked on each of them.</summary>
internal static class NumbersParts
{
    public static IReadOnlyList<(string Path, string Name)> All =>
    [
        ("/workbench/numbers", T("At a glance")),
        ("/workbench/numbers/downloads", T("Downloads")),
        ("/workbench/numbers/versions", T("Versions")),
        ("/workbench/numbers/members", T("Members")),
        ("/workbench/numbers/drops", T("Drops")),
        ("/workbench/numbers/libraries", T("Libraries")),
    ];
}
