using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using LibraryShelf.Packaging.Folders;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Faults;

/// <summary>What someone tells of a fault. <paramref name="Key"/> is MIDI 0 to 127, null when they are not sure.</summary>
public sealed record ToldFault(long ReleaseId, int? Key, string? Recording, string? Words);

public abstract record ReportFaultOutcome
{
    private ReportFaultOutcome() { }

    /// <summary>It is kept. <paramref name="IsTold"/>: the one who told it gets a mail when it is mended.</summary>
    public sealed record Reported(long FaultId, bool IsTold) : ReportFaultOutcome;

    /// <summary>The box has no such version, or it is not open to this person; nothing was kept.</summary>
    public sealed record NotTheirs : ReportFaultOutcome;

    /// <summary>Nothing was kept; each refusal names its field: Key, Recording or Words.</summary>
    public sealed record Refused(IReadOnlyList<Refusal> Refusals) : ReportFaultOutcome;
}

/// <summary>Keeps what someone tells of a version they may have: something in it sounds wrong.</summary>
public sealed class ReportFault(ShelfDb db, ReadRights rights, TimeProvider clock)
{
    /// <summary>Longest words, letters.</summary>
    public const int MaxWordsLength = 2000;

    /// <summary>Longest name of a recording, letters.</summary>
    public const int MaxRecordingLength = 400;

    /// <param name="slug">The box; its version must be of it.</param>
    /// <param name="fault">As typed.</param>
    /// <param name="personId">Null: a visitor who is not signed in; nobody can be answered then.</param>
    /// <param name="cancellationToken">Ends it with nothing kept.</param>
    public async Task<ReportFaultOutcome> RunAsync(string slug, ToldFault fault, long? personId, CancellationToken cancellationToken)
    {
        var words = fault.Words?.Trim() ?? "";
        var library = await db.Releases.Where(r => r.Id == fault.ReleaseId && r.Library.Slug == slug)
            .Select(r => new { r.LibraryId, r.Number }).FirstOrDefaultAsync(cancellationToken);
        if (library is null || !MayDownload.IsYes(await rights.RunAsync(fault.ReleaseId, personId, cancellationToken)))
            return new ReportFaultOutcome.NotTheirs();
        var (path, unknown) = await FindAsync(fault, library.Number, cancellationToken);
        Refusal?[] refusals =
        [
            fault.Key is < 0 or > 127 ? new Refusal("Key", T("Choose a key, or “not sure”.")) : null,
            unknown,
            words.Length switch
            {
                0 => new Refusal("Words", T("Write what you heard.")),
                > MaxWordsLength => new Refusal("Words", T($"These are more than {MaxWordsLength} letters. Shorten them; what matters is what you heard and where.")),
                _ => null,
            },
        ];
        if (refusals.OfType<Refusal>().ToList() is { Count: > 0 } against)
            return new ReportFaultOutcome.Refused(against);

        var row = new FaultReport
        {
            LibraryId = library.LibraryId, ReleaseId = fault.ReleaseId, PersonId = personId, Key = fault.Key, Path = path, Words = words,
            ReportedAt = clock.GetUtcNow(),
        };
        db.FaultReports.Add(row);
        await db.SaveChangesAsync(cancellationToken);
        return new ReportFaultOutcome.Reported(row.Id, personId is not null);
    }

    /// <summary>The recording's path in the version's folder, by its path or its name alone, in either case of letters.</summary>
    private async Task<(string? Path, Refusal? Unknown)> FindAsync(ToldFault fault, string number, CancellationToken cancellationToken)
    {
        var typed = fault.Recording?.Trim().Replace('\\', '/').TrimStart('/') ?? "";
        if (typed.Length == 0)
            return (null, null);
        var paths = typed.Length > MaxRecordingLength
            ? []
            : await db.ReleaseFiles.Where(f => f.ReleaseId == fault.ReleaseId).Select(f => f.Path).ToListAsync(cancellationToken);
        var found = paths.Where(p => FileKinds.Of(p) == FileKind.Recording && IsNamed(p, typed)).ToList();
        var one = found.Count == 1 ? found[0] : found.Find(p => p == typed);
        return (one, one is not null ? null : new Refusal("Recording", found.Count > 1
            ? T($"Version {number} has {found.Count} recordings of that name. Write its folder too, or leave this empty.")
            : T($"Version {number} has no recording of that name. Write the file’s name as it stands in the folder, or leave this empty.")));
    }

    private static bool IsNamed(string path, string typed) =>
        string.Equals(path, typed, StringComparison.OrdinalIgnoreCase) || path.EndsWith("/" + typed, StringComparison.OrdinalIgnoreCase)
        // People copy a path with the top folder in which the archive unpacks.
        || typed.EndsWith("/" + path, StringComparison.OrdinalIgnoreCase);
}
