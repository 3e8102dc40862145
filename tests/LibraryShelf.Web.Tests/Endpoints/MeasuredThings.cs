using System.Text.Json;
using LibraryShelf.Audio;
using LibraryShelf.Core.Checking;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Endpoints;

/// <summary>What a check would have kept of a version.</summary>
internal static class MeasuredThings
{
    /// <summary>Each of its recordings stands at a key of its own, from middle C up, and rings for a second more than the one before.</summary>
    public static Task MeasuredAsync(this ShelfHost host, long releaseId) => host.WithDbAsync(async db =>
    {
        var files = await db.ReleaseFiles.Where(f => f.ReleaseId == releaseId && f.Path.EndsWith(".wav")).OrderBy(f => f.Path).Select(f => new { f.Path, f.Sha256 }).ToListAsync();
        await db.Measurements.Where(m => files.Select(f => f.Sha256).Contains(m.Sha256)).ExecuteDeleteAsync();
        await db.ReleaseSheets.Where(s => s.ReleaseId == releaseId).ExecuteDeleteAsync();
        db.Measurements.AddRange(files.Select((f, i) => new Measurement
        {
            Sha256 = f.Sha256, Generation = RecordingFacts.CurrentGeneration,
            Facts = JsonSerializer.Serialize(new RecordingFacts { Decay60Ms = 1_000 * (i + 1), BrightnessHz = 900, LoudestRmsDbfs = -20, AttackMs = 4 }),
        }));
        db.ReleaseSheets.Add(new ReleaseSheet
        {
            ReleaseId = releaseId, Places = JsonSerializer.Serialize(files.Select((f, i) => new RecordingPlace { Path = f.Path, Note = 60 + i, Layer = 1, Take = 1 })),
        });
        await db.SaveChangesAsync();
    });
}
