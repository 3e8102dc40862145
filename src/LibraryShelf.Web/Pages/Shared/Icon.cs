using LibraryShelf.Core.Catalog;
using Microsoft.AspNetCore.Html;

namespace LibraryShelf.Web.Pages.Shared;

/// <summary>
/// The few signs of the house, drawn in 20 × 20 with attributes only (strict CSP). Decorative for readers of the page's text:
/// each always stands before its word.
/// </summary>
internal static class Icon
{
    /// <summary>Free: the half-round notch for a thumb.</summary>
    public static IHtmlContent Notch { get; } = Line("M2.5 3.5h4.2a3.3 3.3 0 0 0 6.6 0h4.2v13h-15z");

    /// <summary>Members: two cords and their knot.</summary>
    public static IHtmlContent Cord { get; } = Of(
        """<path d="M1 11.5h18M1 16h18M5 4l5 8 5-8" fill="none" stroke="currentColor" stroke-width="2"/><circle cx="10" cy="12.6" r="3.4"/>""");

    /// <summary>Must fix: a solid diamond.</summary>
    public static IHtmlContent MustFix { get; } = Of(
        """<path fill-rule="evenodd" d="M10 .8 19.2 10 10 19.2.8 10zM9 5.6v5.6h2V5.6zm0 7v2h2v-2z"/>""");

    /// <summary>Listen again: an ear.</summary>
    public static IHtmlContent ListenAgain { get; } = Of(
        """<circle cx="5.4" cy="10" r="3.2"/><path d="M5.4 2.6c6.4 0 10.4 3.6 11.6 7.4-1.2 3.8-5.2 7.4-11.6 7.4" fill="none" stroke="currentColor" stroke-width="2.4"/>""");

    /// <summary>Fine: a tick.</summary>
    public static IHtmlContent Fine { get; } = Line("M2.5 11l5 5L17.5 4", "2.6");

    public static IHtmlContent Download { get; } = Line("M10 1.5v11M5 8l5 5 5-5M2 18h16", "2.4");

    public static IHtmlContent Loud { get; } = Of("""<path d="M2 7.5h4L11 3v14l-5-4.5H2zM13.5 8.5h3v3h-3z"/>""");

    public static IHtmlContent Seal { get; } = Of(
        """<circle cx="10" cy="10" r="7.8" fill="none" stroke="currentColor" stroke-width="2"/><path d="M6 10l3 3 5-6" fill="none" stroke="currentColor" stroke-width="2"/>""");

    public static IHtmlContent Added { get; } = Line("M10 3v14M3 10h14", "2.4");

    /// <summary>Re-recorded: a ring.</summary>
    public static IHtmlContent ReRecorded { get; } = Of(
        """<circle cx="10" cy="10" r="6" fill="none" stroke="currentColor" stroke-width="2.4"/><circle cx="10" cy="10" r="1.6"/>""");

    /// <summary>A smaller change: a dot.</summary>
    public static IHtmlContent Dot { get; } = Of("""<circle cx="10" cy="10" r="3"/>""");

    /// <summary>Renamed: an arrow elsewhere.</summary>
    public static IHtmlContent Renamed { get; } = Line("M4 16 15 5M7 4h9v9", "2.4");

    public static IHtmlContent Removed { get; } = Line("M3 10h14", "2.4");

    /// <summary>Whom a box is for, as sign and word.</summary>
    public static IHtmlContent For(Audience audience) => audience == Audience.Free ? Sign(Notch, H("Free")) : Sign(Cord, H("Members"));

    private static HtmlString Sign(IHtmlContent icon, IHtmlContent word) => new($"<span class=\"sign\">{icon}<span>{word}</span></span>");

    private static HtmlString Line(string path, string width = "2") =>
        Of($"""<path d="{path}" fill="none" stroke="currentColor" stroke-width="{width}"/>""");

    private static HtmlString Of(string inside) =>
        new($"""<svg class="icon" viewBox="0 0 20 20" width="20" height="20" fill="currentColor" aria-hidden="true" focusable="false">{inside}</svg>""");
}
