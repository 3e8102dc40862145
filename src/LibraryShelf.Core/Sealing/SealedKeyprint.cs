using System.Text.Json;
using LibraryShelf.Audio;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Data;
using LibraryShelf.Packaging.Keyprints;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Sealing;

/// <summary>
/// The keyprint of a sealed version as it was made when it was sealed: later measures, which may come out otherwise, do not change a picture that is kept for good at
/// its address. A version sealed before there was such a row gets one by the sweep (<see cref="KeepKeyprints"/>).
/// </summary>
public sealed class SealedKeyprint
{
    public long ReleaseId { get; set; }
    /// <summary>A <see cref="Keyprint"/> as JSON; "": nothing of it could be drawn.</summary>
    public string Print { get; set; } = "";
    /// <summary>The program's generation of measures then (<see cref="RecordingFacts.CurrentGeneration"/>): with a later one, what could not be drawn is tried again.</summary>
    public int Measures { get; set; }

    /// <summary>Null when nothing of it could be drawn.</summary>
    internal Keyprint? Read() => Print.Length == 0 ? null : JsonSerializer.Deserialize<Keyprint>(Print);

    internal static SealedKeyprint Of(long releaseId, Keyprint print) => new()
    {
        ReleaseId = releaseId, Measures = RecordingFacts.CurrentGeneration, Print = print.Reeds.Count == 0 ? "" : JsonSerializer.Serialize(print),
    };

    /// <summary>Made from the check sheet's places and what was measured of the recordings.</summary>
    /// <param name="db">The database.</param>
    /// <param name="releaseId">The version.</param>
    /// <param name="known">Facts lately read, which need not be read again; null: none.</param>
    /// <param name="cancellationToken">Ends the reading.</param>
    internal static async Task<Keyprint> MakeAsync(ShelfDb db, long releaseId, KnownFacts? known, CancellationToken cancellationToken)
    {
        var sheet = await db.ReleaseSheets.AsNoTracking().SingleOrDefaultAsync(s => s.ReleaseId == releaseId, cancellationToken);
        var places = sheet?.ReadPlaces().ToDictionary(p => p.Path, StringComparer.Ordinal) ?? [];
        return places.Count == 0 ? KeyprintReading.Of([])
            : KeyprintReading.Of((await FactsAsync(db, releaseId, known, cancellationToken)).Where(m => places.ContainsKey(m.Path)).Select(m => (places[m.Path], m.Facts)));
    }

    private static async Task<IEnumerable<(string Path, RecordingFacts Facts)>> FactsAsync(ShelfDb db, long releaseId, KnownFacts? known, CancellationToken cancellationToken)
    {
        var measured = from file in db.ReleaseFiles
                       join row in db.Measurements on file.Sha256 equals row.Sha256
                       where file.ReleaseId == releaseId
                       select new { file.Path, row.Sha256, row.Facts };
        if (known is not null)
        {
            var hashes = await measured.Select(m => new { m.Path, m.Sha256 }).ToListAsync(cancellationToken);
            var facts = hashes.ConvertAll(m => (m.Path, Facts: known.Of(m.Sha256)));
            if (facts.TrueForAll(f => f.Facts is not null))
                return facts.Select(f => (f.Path, f.Facts!));
        }
        return (await measured.ToListAsync(cancellationToken)).Select(m => (m.Path, JsonSerializer.Deserialize<RecordingFacts>(m.Facts)!));
    }
}

public sealed class SealedKeyprintConfiguration : IEntityTypeConfiguration<SealedKeyprint>
{
    public void Configure(EntityTypeBuilder<SealedKeyprint> builder)
    {
        builder.HasKey(k => k.ReleaseId);
        builder.Property(k => k.ReleaseId).ValueGeneratedNever();
        builder.HasOne<Catalog.Release>().WithMany().HasForeignKey(k => k.ReleaseId).OnDelete(DeleteBehavior.Cascade);
    }
}
