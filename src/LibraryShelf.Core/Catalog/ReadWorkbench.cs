using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

/// <summary>A library at the workbench with everything said of it there. Releases are newest number first.</summary>
public sealed record LibraryAtWork(Library Library, Audience? Audience, IReadOnlyList<Release> Releases)
{
    /// <summary>The highest number on the shelf.</summary>
    public Release? OnShelf => Releases.FirstOrDefault(r => r.State == ReleaseState.Published);

    /// <summary>The one unsealed release.</summary>
    public Release? Open => Releases.FirstOrDefault(r => !r.IsSealed);

    /// <summary>The highest number that is sealed but not on the shelf yet: by hand, or with its drop.</summary>
    public Release? WaitingToPublish => Releases.FirstOrDefault(r => r.State is ReleaseState.Sealed or ReleaseState.Scheduled);

    /// <summary>What people told of it that is neither mended nor put away.</summary>
    public int OpenFaults { get; init; }

    /// <summary>What has to be mended or excused before <see cref="Open"/> can be sealed; 0 also before its sheet is written.</summary>
    public int MustFix { get; init; }

    /// <summary>What the maker stopped and has not asked for since.</summary>
    public IReadOnlyList<StoppedWork> Stopped { get; init; } = [];

    /// <summary>The number a next release would get.</summary>
    public string NextNumber => ReleaseNumbers.Propose(Releases.Select(r => r.Number));

    internal static LibraryAtWork Of(Library library, DateTimeOffset now) => new(
        library, library.AudienceAt(now), [.. library.Releases.OrderByDescending(r => r.Number, ReleaseNumbers.ByPrecedence)]);
}

public enum StoppedWhat { Comparing, Reading, Listening }

/// <param name="Since">Of a comparing: the version it was held against; 0: it was another work.</param>
public sealed record StoppedWork(long ReleaseId, StoppedWhat What, long Since = 0);

/// <summary>Reads all libraries for the workbench, by title.</summary>
public sealed class ReadWorkbench(ShelfDb db, TimeProvider clock)
{
    public async Task<IReadOnlyList<LibraryAtWork>> RunAsync(CancellationToken cancellationToken)
    {
        var libraries = await db.Libraries.AsNoTracking().AsSplitQuery().Include(l => l.Releases).Include(l => l.Audiences)
            .ToListAsync(cancellationToken);
        var faults = await db.FaultReports.Where(f => f.SettledAt == null).GroupBy(f => f.LibraryId)
            .Select(g => new { g.Key, Open = g.Count() }).ToDictionaryAsync(g => g.Key, g => g.Open, cancellationToken);
        var mustFix = await db.Releases.Where(r => r.State == ReleaseState.Checked)
            .Select(r => new { r.Id, Open = db.SheetEntries.Count(e => e.ReleaseId == r.Id && e.Severity == Severity.MustFix && e.ExcuseReason == null) })
            .ToDictionaryAsync(r => r.Id, r => r.Open, cancellationToken);
        var stopped = (await StoppedAsync(cancellationToken)).ToLookup(s => s.ReleaseId);
        var now = clock.GetUtcNow();
        return [.. libraries.OrderBy(l => l.Title, StringComparer.OrdinalIgnoreCase)
            .Select(l => LibraryAtWork.Of(l, now))
            .Select(l => l with { OpenFaults = faults.GetValueOrDefault(l.Library.Id), MustFix = l.Open is { } open ? mustFix.GetValueOrDefault(open.Id) : 0, Stopped = [.. l.Releases.SelectMany(r => stopped[r.Id])] })];
    }

    private async Task<IReadOnlyList<StoppedWork>> StoppedAsync(CancellationToken cancellationToken)
    {
        List<StoppedWork> stopped =
        [
            .. await db.ReleaseComparisons.Where(c => c.StoppedAt != null && c.AskedAt == null).OrderBy(c => c.FromReleaseId).Select(c => new StoppedWork(c.ReleaseId, StoppedWhat.Comparing, c.FromReleaseId)).ToListAsync(cancellationToken),
            // An update's or a month's stands under Jobs: nobody waits for it.
            .. await db.Archives.Where(a => a.Kind == ArchiveKind.Full && a.Sha256 == null && a.ReadStoppedAt != null).Select(a => new StoppedWork(a.ReleaseId, StoppedWhat.Reading, 0)).ToListAsync(cancellationToken),
        ];
        // As the version's page has it: of one that is withdrawn, or can be heard all the same, there is nothing to go on with.
        foreach (var id in await db.Releases.Where(r => r.State == ReleaseState.Published && r.ListenHeldAt != null).Select(r => r.Id).ToListAsync(cancellationToken))
            if (!await FindUnheard.IsDoneAsync(db, id, clock.GetUtcNow(), cancellationToken))
                stopped.Add(new(id, StoppedWhat.Listening));
        return stopped;
    }
}
