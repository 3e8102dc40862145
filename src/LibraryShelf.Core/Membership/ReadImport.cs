using System.Security.Cryptography;
using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

public abstract record ImportReading
{
    private ImportReading() { }

    /// <summary>The list can't be read as one.</summary>
    /// <param name="Line">Where, if the trouble is at one line.</param>
    public sealed record Unreadable(ImportTrouble Trouble, int? Line) : ImportReading;

    /// <summary>What would come of each line.</summary>
    /// <param name="FileHash">SHA-256 of the list, lower-case hex: says with the second press which list was shown.</param>
    /// <param name="Before">The taking of this very list was begun and broke off; null: not yet.</param>
    public sealed record Tried(string FileHash, IReadOnlyList<ImportLine> Lines, MemberImport? Before) : ImportReading;

    /// <summary>This very list was brought whole before, and is not brought twice.</summary>
    public sealed record BroughtBefore(DateTimeOffset FinishedAt) : ImportReading;
}

/// <summary>The first press: what would come of a list. Writes nothing.</summary>
public sealed class ReadImport(ShelfDb db, TimeProvider clock)
{
    /// <summary>The most a list may weigh, in bytes, and the most lines it may have.</summary>
    public const int MostBytes = ImportText.MostBytes;
    public const int MostLines = ImportText.MostLines;

    public async Task<ImportReading> RunAsync(ReadOnlyMemory<byte> file, CancellationToken cancellationToken)
    {
        var text = ImportText.Read(file.Span);
        if (text.Trouble is { } trouble)
            return new ImportReading.Unreadable(trouble, text.TroubleLine);
        var hash = HashOf(file.Span);
        var before = await db.MemberImports.AsNoTracking().SingleOrDefaultAsync(i => i.FileHash == hash, cancellationToken);
        if (before?.FinishedAt is { } finished)
            return new ImportReading.BroughtBefore(finished);
        var judge = await ImportJudge.OpenAsync(db, before, clock.GetUtcNow(), cancellationToken);
        var lines = new List<ImportLine>(text.Lines.Count);
        foreach (var some in text.Lines.Chunk(ImportJudge.AtOnce))
            lines.AddRange((await judge.JudgeAsync(some, cancellationToken)).Select(j => j.Line));
        return new ImportReading.Tried(hash, lines, before);
    }

    internal static string HashOf(ReadOnlySpan<byte> file) => Convert.ToHexStringLower(SHA256.HashData(file));
}

/// <summary>One list that was brought here.</summary>
/// <param name="People">Of it; some may have been known before.</param>
/// <param name="Claimed">How many of them have signed in.</param>
public sealed record ImportSummary(MemberImport Import, int People, int Claimed);

/// <summary>The lists that were brought here, newest first.</summary>
public sealed class ReadImports(ShelfDb db)
{
    public async Task<IReadOnlyList<ImportSummary>> RunAsync(CancellationToken cancellationToken) =>
        await db.MemberImports.AsNoTracking().OrderByDescending(i => i.Id)
            .Select(i => new ImportSummary(
                i, db.ImportedMembers.Count(m => m.ImportId == i.Id), db.ImportedMembers.Count(m => m.ImportId == i.Id && m.ClaimedAt != null)))
            .ToListAsync(cancellationToken);
}
