using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Listening;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>What the doors of listening are knocked at with: files of a version, and a piece of music, whose bytes are anything.</summary>
internal static class ListenThings
{
    public const string Excerpt = "excerpt-1.opus";

    public static bool Knows(DoorRow row) => row.Path.Contains("/listen/", StringComparison.Ordinal) || row.Path.Contains("/music", StringComparison.Ordinal);

    public static async Task<Knock> ForAsync(DoorWorld world, DoorRow row)
    {
        var (slug, id) = row.Case == "given early" ? await world.EarlyAsync() : world.ForMembers;
        await HeardAsync(world.Host, id);
        if (row.Method == HttpMethod.Post)
            return new(row.Method, row.Path.Replace("{slug}", slug, StringComparison.Ordinal)) { Fields = [new("Title", $"Low water {Guid.NewGuid():N}")] };
        return new(row.Method, row.Path.Replace("{slug}", slug, StringComparison.Ordinal).Replace("{number}", "1.0.0", StringComparison.Ordinal)
            .Replace("{path}", Excerpt, StringComparison.Ordinal));
    }

    /// <returns>The SHA-256 of each file by its name.</returns>
    public static async Task<Dictionary<string, string>> HeardAsync(ShelfHost host, long releaseId)
    {
        var stored = new List<(string Name, StoredBytes Bytes)>();
        foreach (var name in new[] { Excerpt, "excerpt-1.wav", ListeningSet.ManifestName, ListeningSet.OpusName, ListeningSet.WavName })
            stored.Add((name, await host.Services.GetRequiredService<IBlobStore>().PutAsync(new MemoryStream([.. "bytes of "u8, .. System.Text.Encoding.UTF8.GetBytes(name)]), default)));
        await host.WithDbAsync(async db =>
        {
            var libraryId = await db.Releases.Where(r => r.Id == releaseId).Select(r => r.LibraryId).SingleAsync();
            await db.ListeningFiles.Where(f => f.ReleaseId == releaseId).ExecuteDeleteAsync();
            await db.Listenings.Where(l => l.ReleaseId == releaseId).ExecuteDeleteAsync();
            await db.LibraryMusic.Where(m => m.LibraryId == libraryId).ExecuteDeleteAsync();
            db.Listenings.Add(new ReleaseListening
            {
                ReleaseId = releaseId, Generation = ListeningSet.Generation, PlayableBytes = 2_100_000, LoudnessLufs = -23, TruePeakDbtp = -5,
                Excerpts = System.Text.Json.JsonSerializer.Serialize<Excerpt[]>([new("excerpt-1", "", false, 6, -23.1, -5)]),
            });
            db.ListeningFiles.AddRange(stored.Select(s => new Core.Sealing.Listening.ListeningFile { ReleaseId = releaseId, Name = s.Name, Sha256 = s.Bytes.Sha256, Size = s.Bytes.Size }));
            db.LibraryMusic.Add(new LibraryMusic
            {
                LibraryId = libraryId, Title = "Low water", Credit = "Played by Edda Quill.", SourceSha256 = stored[1].Bytes.Sha256, OpusSha256 = stored[0].Bytes.Sha256,
                WavSha256 = stored[1].Bytes.Sha256, Generation = ListeningSet.Generation, Seconds = 61,
            });
            await db.SaveChangesAsync();
        });
        return stored.ToDictionary(s => s.Name, s => s.Bytes.Sha256);
    }
}
