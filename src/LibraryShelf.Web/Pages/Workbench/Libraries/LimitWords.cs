using System.Globalization;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Web.Pages.Workbench.Libraries;

/// <summary>A library's limits as people read them.</summary>
internal static class LimitWords
{
    /// <summary>With its unit and a true minus: "−55 dBFS".</summary>
    public static string Value(Limit limit, double value) =>
        $"{Said(value)}{(limit.Unit.Length > 0 ? " " + limit.Unit : "")}";

    public static string Said(double value) => value.ToString("0.####", Say.Culture).Replace('-', '−');

    /// <summary>As it stands in a field, and is typed there.</summary>
    public static string Number(double value) => value.ToString("0.####", CultureInfo.InvariantCulture);
}
