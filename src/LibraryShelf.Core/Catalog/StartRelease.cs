using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

public abstract record StartReleaseOutcome
{
    private StartReleaseOutcome() { }

    public sealed record Started(long ReleaseId, string Number) : StartReleaseOutcome;

    /// <summary>The library has an unsealed release already; one at a time. Go on with it, seal it or discard it.</summary>
    public sealed record AlreadyOpen(long ReleaseId, string Number) : StartReleaseOutcome;

    public sealed record Refused(Refusal Refusal) : StartReleaseOutcome;

    /// <summary>The library kept changing at this very moment; nothing was started.</summary>
    public sealed record ChangedMeanwhile : StartReleaseOutcome;

    public sealed record NoSuchLibrary : StartReleaseOutcome;
}

/// <summary>
/// Starts a library's next release as an empty draft that takes over the players, licence and credits of the latest one, so
/// that the maker only says what changed.
/// </summary>
public sealed class StartRelease(ShelfDb db, TimeProvider clock)
{
    /// <summary>Starts it under <paramref name="number"/>, or under the proposed next number when that is null or empty.</summary>
    public Task<StartReleaseOutcome> RunAsync(string slug, string? number, CancellationToken cancellationToken) =>
        // Where another start won, what it made is now the open draft.
        FreshEyes.LookAsync<StartReleaseOutcome>(
            db, () => StartAsync(slug, number, cancellationToken), () => new StartReleaseOutcome.ChangedMeanwhile());

    private async Task<StartReleaseOutcome> StartAsync(string slug, string? number, CancellationToken cancellationToken)
    {
        var library = await db.Libraries.Include(l => l.Releases).ThenInclude(r => r.Players).AsSplitQuery()
            .FirstOrDefaultAsync(l => l.Slug == slug, cancellationToken);
        if (library is null)
            return new StartReleaseOutcome.NoSuchLibrary();
        if (library.Releases.Find(r => !r.IsSealed) is { } open)
            return new StartReleaseOutcome.AlreadyOpen(open.Id, open.Number);

        var taken = library.Releases.ConvertAll(r => r.Number);
        var wanted = string.IsNullOrWhiteSpace(number) ? ReleaseNumbers.Propose(taken) : number.Trim();
        if (ReleaseNumbers.Refuse(wanted, taken) is { } refusal)
            return new StartReleaseOutcome.Refused(refusal);

        var release = Draft(library, wanted);
        library.Releases.Add(release);
        // Touching the library makes two starts at the same moment collide on its revision instead of both succeeding.
        library.Revision++;
        await db.SaveChangesAsync(cancellationToken);
        return new StartReleaseOutcome.Started(release.Id, release.Number);
    }

    private Release Draft(Library library, string number)
    {
        var draft = new Release { Number = number, CreatedAt = clock.GetUtcNow() };
        var latest = library.Releases.OrderBy(r => r.Number, ReleaseNumbers.ByPrecedence).LastOrDefault();
        if (latest is null)
            return draft;
        draft.LicenceSpdx = latest.LicenceSpdx;
        draft.LicenceText = latest.LicenceText;
        draft.LicenceInShort = latest.LicenceInShort;
        draft.Credits = latest.Credits;
        draft.Players.AddRange(latest.Players.OrderBy(p => p.Order).Select(p => new ReleasePlayer
        {
            Name = p.Name, LowestVersion = p.LowestVersion, HowToInstall = p.HowToInstall, Order = p.Order,
        }));
        return draft;
    }
}
