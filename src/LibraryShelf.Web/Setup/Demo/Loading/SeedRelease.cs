using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Web.Setup.Demo.Recipes;

namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>Brings one version onto the shelf by the steps the maker would take, on the evening before and the day of its publishing.</summary>
internal sealed class SeedRelease(Steps steps, SettableClock clock)
{
    private const int Senders = 2;

    /// <param name="release">Which, with its files.</param>
    /// <param name="drop">With which it goes out; null: by hand.</param>
    /// <param name="publishedAt">The day and hour.</param>
    /// <param name="cancellationToken">Ends it.</param>
    public async Task RunAsync(PreparedRelease release, DropRecipe? drop, DateTimeOffset publishedAt, CancellationToken cancellationToken)
    {
        var (slug, version) = (release.Library.Slug, release.Version);
        clock.Now = publishedAt - TimeSpan.FromHours(16);
        var started = await steps.MustAsync<StartRelease, StartReleaseOutcome.Started>(
            $"start {slug} {version.Number}", async v => await v.RunAsync(slug, version.Number, cancellationToken));
        await steps.MustAsync<EditRelease, EditOutcome.Saved>(
            $"write the words of {slug} {version.Number}", async v => await v.RunAsync(started.ReleaseId, Words(version), cancellationToken));
        await SendAsync(started.ReleaseId, release, cancellationToken);
        await CheckAsync(started.ReleaseId, slug, cancellationToken);
        if (version.Audience is null && version.EarlyFor.Count == 0 && !version.IsSealed)
            return;
        var what = $"{slug} {version.Number}";
        await SealAsync(started.ReleaseId, drop is null ? version.Audience : null, what, publishedAt, cancellationToken);
        if (drop is not null && await new SeedDrops(steps, clock).SendAsync(drop, started.ReleaseId, publishedAt, cancellationToken))
            return;
        clock.Now = publishedAt;
        if (version.IsSealed)
            return;
        if (version.Audience is { } audience)
            await PublishAsync(started.ReleaseId, audience, what, cancellationToken);
        else
            await steps.MustAsync<ReleaseEarly, ReleaseEarlyOutcome.Opened>($"give {what} early", async v => await v.RunAsync(
                started.ReleaseId, string.Join('\n', version.EarlyFor), declares: true, shelfAddress: null, cancellationToken));
    }

    private static ReleaseWords Words(VersionRecipe version) => new(
        version.Notes, version.Licence, version.LicenceText, version.Credits,
        [.. version.Players.Select(p => new PlayerWords(p.Name, p.Version, p.HowToInstall))]) { LicenceInShort = version.LicenceInShort };

    private async Task SendAsync(long releaseId, PreparedRelease release, CancellationToken cancellationToken)
    {
        var planned = await steps.MustAsync<PlanFolder, PlanOutcome.Planned>(
            $"plan the folder of {release.Library.Slug}",
            async v => await v.RunAsync(releaseId, [.. release.Files.Select(f => new PlannedFile(f.Path, f.Size, f.Sha256))], cancellationToken));
        var bytes = release.Files.Where(f => f.Bytes is not null).ToLookup(f => f.Sha256, f => f.Bytes!, StringComparer.Ordinal);
        await Parallel.ForEachAsync(
            planned.Wanted,
            new ParallelOptions { MaxDegreeOfParallelism = Senders, CancellationToken = cancellationToken },
            async (wanted, ct) => await SendFileAsync(releaseId, wanted, bytes[wanted.Sha256!].First(), ct));
    }

    private async Task SendFileAsync(long releaseId, WantedFile file, byte[] bytes, CancellationToken cancellationToken)
    {
        var upload = await steps.MustAsync<StartUpload, StartUploadOutcome.Started>(
            $"send {file.Path}",
            async v => await v.RunAsync(new UploadWish(releaseId, UploadKind.File, file.Path, file.Size, file.Sha256), cancellationToken));
        using var body = new MemoryStream(bytes, writable: false);
        await steps.MustAsync<AppendToUpload, UploadOutcome.Finished>(
            $"send {file.Path}", async v => await v.RunAsync(upload.UploadId, 0, body, null, cancellationToken));
    }

    private async Task CheckAsync(long releaseId, string slug, CancellationToken cancellationToken)
    {
        clock.Now += TimeSpan.FromMinutes(25);
        await steps.MustAsync<AskForCheck, AskForCheckOutcome.Asked>(
            $"ask for the check of {slug}", async v => await v.RunAsync(releaseId, cancellationToken));
        clock.Now += TimeSpan.FromMinutes(1);
        await steps.MustAsync<CheckRelease, CheckReleaseOutcome.Checked>(
            $"check {slug}", async v => await v.RunAsync(releaseId, cancellationToken));
    }

    private async Task SealAsync(
        long releaseId, Audience? audience, string what, DateTimeOffset publishedAt, CancellationToken cancellationToken)
    {
        clock.Now = publishedAt - TimeSpan.FromMinutes(2);
        await steps.MustAsync<AskForSeal, AskForSealOutcome.Asked>(
            $"ask for the seal of {what}", async v => await v.RunAsync(releaseId, audience, declares: true, cancellationToken));
        var isSealed = await steps.MustAsync<SealRelease, SealReleaseOutcome.Sealed>(
            $"seal {what}", async v => await v.RunAsync(releaseId, cancellationToken));
        await steps.MustAsync<DigestArchive, DigestArchiveOutcome.Digested>(
            $"digest {what}", async v => await v.RunAsync(isSealed.ArchiveId, cancellationToken));
        await steps.TakeAsync<WeighUpdates, int>(v => v.RunAsync(releaseId, cancellationToken));
    }

    private async Task PublishAsync(long releaseId, Audience audience, string what, CancellationToken cancellationToken)
    {
        var published = await steps.TakeAsync<PublishRelease, PublishReleaseOutcome>(
            v => v.RunAsync(releaseId, audience, declares: true, shelfAddress: null, cancellationToken));
        if (published != PublishReleaseOutcome.Published)
            throw new InvalidOperationException($"The practice shop could not publish {what}: {published}");
        await steps.TakeAsync<TellPeople, int>(v => v.RunAsync(releaseId, shelfAddress: null, cancellationToken));
    }
}
