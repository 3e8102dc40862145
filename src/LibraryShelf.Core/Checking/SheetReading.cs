using LibraryShelf.Audio;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Packaging.CheckSheets;

namespace LibraryShelf.Core.Checking;

/// <summary>What a sheet says of one recording, worst first: one of its findings stands, or the maker excused them, or there is none.</summary>
public enum SheetVerdict { MustFix, ListenAgain, Excused, Fine }

/// <summary>
/// A recording on a sheet. <paramref name="Place"/> is null when the release was checked before places were kept, <paramref name="Facts"/>
/// when it was not measured.
/// </summary>
public sealed record SheetRecording(
    string Path, string Sha256, RecordingPlace? Place, RecordingFacts? Facts, IReadOnlyList<SheetEntry> Findings)
{
    public SheetVerdict Verdict { get; } =
        Findings.Any(f => f.BlocksSealing) ? SheetVerdict.MustFix
        : Findings.Any(f => f is { Severity: Severity.ListenAgain, ExcuseReason: null }) ? SheetVerdict.ListenAgain
        : Findings.Any(f => f.ExcuseReason is not null) ? SheetVerdict.Excused
        : SheetVerdict.Fine;
}

/// <summary>
/// A checked release's sheet, from one reading: recordings in ordinal order of paths, each with its findings in the sheet's order, and
/// the findings about the library and its other files.
/// </summary>
public sealed record SheetReading(
    Release Release, IReadOnlyList<SheetRecording> Recordings, IReadOnlyList<SheetEntry> LibraryFindings, LibraryLimits Limits, bool HasPlaces)
{
    /// <summary>The sheet speaks of the folder as it is now.</summary>
    public bool IsCurrent => Release.State != ReleaseState.Draft;

    public IEnumerable<SheetEntry> Findings => LibraryFindings.Concat(Recordings.SelectMany(r => r.Findings));
}
