using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>What is said of an archive whose reading through the maker stopped, wherever she did.</summary>
internal static class ReadingWords
{
    public static string NothingToStop => T("It was not being read through any more, so nothing was stopped.");

    public static string Stopped(string fileName, DateTimeOffset at, DateTimeZone zone) => T($"You stopped the reading through of {fileName} on {Dates.DayAndTime(at, zone)}. "
        + $"It is handed out as before, without a checksum. What was read is not kept: to go on, read it through from its beginning.");
}
