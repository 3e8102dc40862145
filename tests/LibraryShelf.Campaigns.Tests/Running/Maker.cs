using LibraryShelf.Adapters.Storage;
using LibraryShelf.Campaigns.Tests.Making;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Storage;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Campaigns.Tests.Running;

/// <summary>What the maker does: buttons by their forms; and short cuts to a state, by rows and Core's verbs, for what is not on trial.</summary>
internal sealed class Maker(TrialShelf shelf)
{
    public Forms Forms { get; } = new(shelf.Browser);

    public Task SignInAsync() => PressAsync("/workbench/sign-in", "", ("Email", TrialShelf.MakerEmail), ("Password", TrialShelf.Password));

    public async Task<string> AddLibraryAsync(string title)
    {
        await using var db = shelf.Open();
        var added = await new AddLibrary(db, TimeProvider.System).RunAsync(
            new LibraryWords(title, "Decaying noise.", "", "", true, null), null, CancellationToken.None);
        return ((AddLibraryOutcome.Added)added).Slug;
    }

    /// <summary>A draft with its words, and no folder.</summary>
    public async Task<long> StartReleaseAsync(string slug)
    {
        await using var db = shelf.Open();
        var started = (StartReleaseOutcome.Started)await new StartRelease(db, TimeProvider.System).RunAsync(slug, null, CancellationToken.None);
        var release = await db.Releases.SingleAsync(r => r.Id == started.ReleaseId);
        release.Notes = "Notes.";
        release.LicenceSpdx = "CC0-1.0";
        release.Players.Add(new ReleasePlayer { Name = "Pondskater", LowestVersion = "2.3" });
        await db.SaveChangesAsync();
        return started.ReleaseId;
    }

    /// <summary>Puts the folder's files where an upload would have put them.</summary>
    /// <param name="releaseId">An empty draft.</param>
    /// <param name="folder">What it will hold.</param>
    /// <param name="asChecked">As if checked, without a sheet.</param>
    public async Task FillAsync(long releaseId, MadeFolder folder, bool asChecked)
    {
        await using var db = shelf.Open();
        var store = new DiskBlobStore(shelf.Paths);
        var now = TimeProvider.System.GetUtcNow();
        foreach (var (path, hash) in folder.Hashes)
        {
            if (!await db.Blobs.AnyAsync(b => b.Sha256 == hash))
            {
                await using var bytes = File.OpenRead(Path.Combine(folder.Folder, path));
                var stored = await store.PutAsync(bytes, CancellationToken.None);
                db.Blobs.Add(new Blob { Sha256 = hash, Size = stored.Size, Crc32 = stored.Crc32, StoredAt = now });
            }
            db.ReleaseFiles.Add(new ReleaseFile { ReleaseId = releaseId, Path = path, Sha256 = hash, Size = folder.SizeOf(path) });
        }
        if (asChecked)
            (await db.Releases.SingleAsync(r => r.Id == releaseId)).MoveTo(ReleaseState.Checked, now);
        await db.SaveChangesAsync();
    }

    public Task PressAsync(string page, string handler, params (string Name, string Value)[] values) => Forms.PressAsync(page, handler, values);

    public async Task<HttpResponseMessage> SendZipAsync(long releaseId, string zip)
    {
        var page = $"/workbench/releases/{releaseId}/zip";
        using var form = new MultipartFormDataContent();
        using var token = new StringContent(await Forms.TokenAsync(page));
        token.Headers.ContentType = null;
        form.Add(token, "__RequestVerificationToken");
        using var bytes = new StreamContent(File.OpenRead(zip));
        form.Add(bytes, "zip", "Noise.zip");
        return await shelf.Browser.PostAsync(new Uri(page, UriKind.Relative), form);
    }

    /// <summary>Presses "Seal and publish" and waits until it is on the shelf and its digest is known.</summary>
    public async Task PublishAsync(long releaseId)
    {
        await PressAsync($"/workbench/releases/{releaseId}/seal", "SealAndPublish", ("audience", "Free"), ("declares", "true"));
        await Waiting.UntilAsync("it is on the shelf", () => IsAsync(releaseId, r => r.PublishedAt != null));
        await DigestedAsync(releaseId);
    }

    public Task DigestedAsync(long releaseId) => Waiting.UntilAsync("its archive is read through", async () =>
    {
        await using var db = shelf.Open();
        return await db.Archives.AnyAsync(a => a.ReleaseId == releaseId && a.Sha256 != null);
    });

    public async Task<bool> IsAsync(long releaseId, Func<Release, bool> so)
    {
        await using var db = shelf.Open();
        return so(await db.Releases.AsNoTracking().SingleAsync(r => r.Id == releaseId));
    }
}
