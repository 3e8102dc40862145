namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>The pages of the figures, in the order in which they are linked on each of them.</summary>
internal static class NumbersParts
{
    public static readonly IReadOnlyList<(string Path, string Name)> All =
    [
        ("/workbench/numbers", T("At a glance")),
        ("/workbench/numbers/downloads", "Downloads"),
        ("/workbench/numbers/versions", "Versions"),
        ("/workbench/numbers/members", "Members"),
        ("/workbench/numbers/drops", "Drops"),
        ("/workbench/numbers/libraries", "Libraries"),
    ];
}
