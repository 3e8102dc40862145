namespace LibraryShelf.Web.Pages.Shared;

/// <summary>How far a long work is, as <c>_HowFar</c> shows it and <c>js/how-far.js</c> keeps it true while the page stands.</summary>
/// <param name="Work">Which: another one, or none, and the page is opened anew.</param>
/// <param name="Words">A sentence or two.</param>
/// <param name="Done">So much of <paramref name="Total"/>; in one unit, whichever.</param>
/// <param name="Total">0: not known yet, so there is no bar.</param>
/// <param name="Label">What the bar counts, for who can't see it.</param>
public sealed record HowFar(string Work, string Words, long Done = 0, long Total = 0, string Label = "");
