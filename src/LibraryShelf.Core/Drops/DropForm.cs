using LibraryShelf.Core.Shared;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>A month's drop as the maker types it; the names of its properties are those of refusals.</summary>
/// <param name="Day">As <see cref="DropDay"/> writes it.</param>
/// <param name="Time">"09:00", on the wall of <paramref name="Zone"/>.</param>
/// <param name="Zone">IANA name.</param>
/// <param name="IsAtOnce">It goes out <see cref="PlanDrop.AtOnceIn"/> from now, whatever day and time say; those of a drop that is planned stay as they were.</param>
public sealed record DropForm(string Title, string Note, string Day, string Time, string Zone, bool IsAtOnce = false)
{
    public const int LongestTitle = 120;
    public const int LongestNote = 20_000;

    public DropForm Tidied() => this with { Title = (Title ?? "").Trim(), Note = (Note ?? "").Trim().ReplaceLineEndings("\n"), Day = (Day ?? "").Trim(), Time = (Time ?? "").Trim(), Zone = (Zone ?? "").Trim() };

    public static DropForm Of(Drop drop) => new(drop.Title, drop.Note, drop.Day, drop.Time, drop.Zone);

    /// <summary>The instant that day, time and zone come to in this month; null where one of them is none.</summary>
    public DateTimeOffset? DueIn(YearMonth month) =>
        DropDay.Read(Day) is { } day && WallClock.Read(Time) is { } time && DateTimeZoneProviders.Tzdb.GetZoneOrNull(Zone) is { } zone
            ? WallClock.At(day.In(month), time, zone)
            : null;

    /// <returns>Everything wrong with these (tidied) words, whatever the clock says; empty when nothing is.</returns>
    internal List<Refusal> Refusals(YearMonth month)
    {
        List<Refusal> refusals = [];
        if (Title.Length > LongestTitle)
            refusals.Add(new(nameof(Title), T($"The title is longer than {LongestTitle} letters. Shorten it.")));
        if (Note.Length > LongestNote)
            refusals.Add(new(nameof(Note), T($"The note is longer than {LongestNote} letters. Shorten it.")));
        if (DropDay.Read(Day) is not { } day)
            refusals.Add(new(nameof(Day), T("Choose the day from the list.")));
        else if (day is DropDay.Dated { Date: var date } && date.ToYearMonth() < month)
            refusals.Add(new(nameof(Day), T("A drop can come later than its month, and not before it. Choose a later date.")));
        if (WallClock.Read(Time) is null)
            refusals.Add(new(nameof(Time), T("That is no time of day. It looks like 09:00.")));
        if (DateTimeZoneProviders.Tzdb.GetZoneOrNull(Zone) is null)
            refusals.Add(new(nameof(Zone), T("That time zone is not in the list. It looks like Europe/Lisbon.")));
        return refusals;
    }
}
