namespace LibraryShelf.Core.Statistics;

/// <summary>
/// What was fetched of one box in some days. <paramref name="Begun"/> counts those started at least <see cref="ReadLibraryNumbers.Patience"/> before today, whole
/// libraries and updates; <paramref name="NotFinished"/> are those of them that are not finished by now; <paramref name="Resumes"/> is how often they went on after a break.
/// </summary>
/// <param name="LibraryId">The box's row.</param>
/// <param name="Slug">Of its page.</param>
/// <param name="Title">Its name.</param>
/// <param name="Size">Of the whole library in its newest sealed version, in bytes; 0: none is sealed.</param>
/// <param name="Wanted">Whole libraries finished.</param>
/// <param name="Updated">Update archives finished.</param>
/// <param name="Begun">See above.</param>
/// <param name="NotFinished">See above.</param>
/// <param name="Resumes">See above.</param>
public sealed record BoxNumbers(long LibraryId, string Slug, string Title, long Size, int Wanted, int Updated, int Begun, int NotFinished, int Resumes)
{
    /// <summary>Of all of these, what was free for everyone; the rest was for members.</summary>
    public BoxFree Free { get; init; } = BoxFree.None;

    /// <summary>How far those came that were never finished.</summary>
    public BoxLeft Left { get; init; } = BoxLeft.Unknown;

    /// <summary>Of these, whole libraries alone.</summary>
    public BoxBegun Whole { get; init; } = BoxBegun.None;

    /// <summary>Of those begun, in a hundred, were never finished; null: none was begun.</summary>
    public double? PercentNotFinished => Begun == 0 ? null : 100.0 * NotFinished / Begun;
}

/// <summary>As in <see cref="BoxNumbers"/>.</summary>
public sealed record BoxFree(int Wanted, int Updated, int Begun, int NotFinished)
{
    public static readonly BoxFree None = new(0, 0, 0, 0);
}

/// <summary>As in <see cref="BoxNumbers"/>.</summary>
public sealed record BoxBegun(int Begun, int NotFinished, int Resumes)
{
    public static readonly BoxBegun None = new(0, 0, 0);

    public BoxLeft Left { get; init; } = BoxLeft.Unknown;
}

/// <summary>How far downloads came that were never finished; those of days counted before this was kept are not in it.</summary>
/// <param name="Known">So many.</param>
/// <param name="Again">Of them, those that asked for more after their first answer.</param>
/// <param name="Covered">Bytes of their archives that were handed over, each once.</param>
/// <param name="Length">Bytes of their archives; 0: nothing is known.</param>
public sealed record BoxLeft(int Known, int Again, long Covered, long Length)
{
    public static readonly BoxLeft Unknown = new(0, 0, 0, 0);

    /// <summary>In a hundred of all they wanted; null: not known.</summary>
    public double? Percent => Length == 0 ? null : 100.0 * Covered / Length;
}

/// <summary>Boxes in the order of their titles; what was seen most often first, as much of it as was asked for.</summary>
/// <param name="Range">The days.</param>
/// <param name="TimeZone">Whose days.</param>
/// <param name="Boxes">All of them, also those nobody fetched.</param>
/// <param name="Referrers">Hosts that people came from, to which box ("" the shelf).</param>
/// <param name="Searches">What was looked for in vain.</param>
public sealed record LibraryNumbers(DayRange Range, string TimeZone, IReadOnlyList<BoxNumbers> Boxes, IReadOnlyList<SeenFrom> Referrers, IReadOnlyList<SeenTimes> Searches)
{
    /// <summary>Of the days, those of which every download is as old as <see cref="ReadLibraryNumbers.Patience"/>.</summary>
    public int SettledDays { get; init; }

    /// <summary>Days of the shelf that are being counted anew and show nothing until then.</summary>
    public int UncountedDays { get; init; }

    /// <summary>There are more than were asked for.</summary>
    public bool AreMoreReferrers { get; init; }

    public bool AreMoreSearches { get; init; }
}

/// <summary>Some days and others beside them.</summary>
/// <param name="These">The days shown.</param>
/// <param name="Those">The others: of hosts and searches, how often those that are shown were seen then, in the same order.</param>
/// <param name="Referrers">How often anybody came from another site, from whichever, in both.</param>
/// <param name="Searches">How often anything was looked for in vain.</param>
/// <param name="AreWordsKept">Whether hosts and searches of all days of both are kept still; without it they can't be held against each other.</param>
public sealed record LibrariesBeside(LibraryNumbers These, LibraryNumbers Those, SeenInBoth Referrers, SeenInBoth Searches, bool AreWordsKept)
{
    /// <summary>The others are cut off where they are not over.</summary>
    public bool AreAsMany => Those.Range.Days == These.Range.Days;
}

public sealed record SeenInBoth(long These, long Those);

/// <param name="LibraryId">The box's row; 0: the shelf.</param>
/// <param name="Title">The box's; "" the shelf, or one that is gone.</param>
public sealed record SeenFrom(string Host, long LibraryId, string Title, int Times);

public sealed record SeenTimes(string Word, int Times);
