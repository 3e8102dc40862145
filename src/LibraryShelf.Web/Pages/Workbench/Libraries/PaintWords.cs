using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Web.Pages.Workbench.Libraries;

/// <summary>What the paints of the boxes are called.</summary>
internal static class PaintWords
{
    public static string Name(Paint paint) => paint switch
    {
        Paint.Bottle => T("Bottle"),
        Paint.Samphire => T("Samphire"),
        Paint.Zinc => T("Zinc"),
        Paint.Night => T("Night"),
        Paint.Chalk => T("Chalk"),
        Paint.Tar => T("Tar"),
        Paint.Thrift => T("Thrift"),
        Paint.Oxide => T("Oxide"),
        Paint.Sky => T("Sky"),
        Paint.Weed => T("Weed"),
        _ => paint.ToString(),
    };
}
