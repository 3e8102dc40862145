using LibraryShelf.Audio;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using LibraryShelf.Packaging.Listening;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Sealing.Listening;

public abstract record KeepMusicOutcome
{
    private KeepMusicOutcome() { }

    /// <summary>It is kept. <paramref name="IsNew"/>: what is heard of it has to be made; wake that.</summary>
    public sealed record Kept(bool IsNew) : KeepMusicOutcome;

    /// <summary>No such library.</summary>
    public sealed record Missing : KeepMusicOutcome;

    /// <summary>Nothing was changed.</summary>
    public sealed record Refused(IReadOnlyList<Refusal> Refusals) : KeepMusicOutcome;
}

/// <summary>Keeps a library's piece of music, or another one in its place, or other words for it.</summary>
public sealed class KeepMusic(ShelfDb db, IBlobStore blobs, TimeProvider clock)
{
    public const int MaxTitle = 120, MaxCredit = 300;

    /// <summary>Bytes: five minutes of two channels at 48 kHz in 32 bits.</summary>
    public const int MostBytes = 116_000_000;

    /// <param name="slug">Of the library.</param>
    /// <param name="title">Its name; one line.</param>
    /// <param name="credit">Who made and played it; one line, may be empty.</param>
    /// <param name="recording">WAV or AIFF; null: only the words are new.</param>
    /// <param name="cancellationToken">Stops the work; nothing is then changed.</param>
    public async Task<KeepMusicOutcome> RunAsync(string slug, string? title, string? credit, Stream? recording, CancellationToken cancellationToken)
    {
        var (name, by) = (Tidy(title), Tidy(credit));
        var refusals = WordsRefused(name, by);
        var library = await db.Libraries.Where(l => l.Slug == slug).Select(l => (long?)l.Id).FirstOrDefaultAsync(cancellationToken);
        if (library is not { } id)
            return new KeepMusicOutcome.Missing();
        if (recording is null && !await db.LibraryMusic.AnyAsync(m => m.LibraryId == id, cancellationToken))
            refusals.Add(new("Recording", T("Choose the recording to send.")));
        if (refusals.Count > 0)
            return new KeepMusicOutcome.Refused(refusals);
        if (recording is null)
        {
            var had = await db.LibraryMusic.Where(m => m.LibraryId == id).ExecuteUpdateAsync(m => m.SetProperty(x => x.Title, name).SetProperty(x => x.Credit, by), cancellationToken);
            return had > 0 ? new KeepMusicOutcome.Kept(IsNew: false)
                : new KeepMusicOutcome.Refused([new("Recording", T("The piece was taken off the page meanwhile. Choose the recording to send."))]);
        }
        var stored = await blobs.PutAsync(recording, cancellationToken);
        if (Unfit(stored.Sha256, cancellationToken) is { } why)
            return new KeepMusicOutcome.Refused([new("Recording", why)]);
        await WriteAsync(id, name, by, stored, cancellationToken);
        return new KeepMusicOutcome.Kept(IsNew: true);
    }

    private static List<Refusal> WordsRefused(string title, string credit)
    {
        var refusals = new List<Refusal>();
        if (title.Length is 0 or > MaxTitle)
            refusals.Add(new("Title", title.Length == 0 ? T("Give the piece a title.") : T($"The title has {title.Length} characters; {MaxTitle} is the most.")));
        if (credit.Length > MaxCredit)
            refusals.Add(new("Credit", T($"The credit has {credit.Length} characters; {MaxCredit} is the most.")));
        return refusals;
    }

    /// <summary>Bytes that nobody names are collected after a week.</summary>
    private string? Unfit(string sha256, CancellationToken cancellationToken)
    {
        using var stream = blobs.Open(sha256);
        var facts = RecordingReader.Read(stream, cancellationToken: cancellationToken);
        return facts switch
        {
            { IsWhole: false } => T($"This recording can’t be read: {facts.TroubleWords}. WAV and AIFF are taken, at most {MusicMaking.MostSeconds / 60} minutes long."),
            { Silent: true } => T("This recording is silent. Send another one."),
            _ when facts.Frames > (long)MusicMaking.MostSeconds * facts.SampleRate =>
                T($"It is {facts.Frames / facts.SampleRate} seconds long; {MusicMaking.MostSeconds} are the most. Send a shorter one."),
            _ => null,
        };
    }

    private Task<bool> WriteAsync(long libraryId, string title, string credit, StoredBytes stored, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync(db, async () =>
        {
            var now = clock.GetUtcNow();
            await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
            await BlobRows.RecordAsync(db, [stored], now, cancellationToken);
            await db.LibraryMusic.Where(m => m.LibraryId == libraryId).ExecuteDeleteAsync(cancellationToken);
            db.LibraryMusic.Add(new LibraryMusic { LibraryId = libraryId, Title = title, Credit = credit, SourceSha256 = stored.Sha256, AddedAt = now });
            await db.SaveChangesAsync(cancellationToken);
            await transaction.CommitAsync(cancellationToken);
            db.ChangeTracker.Clear();
            return true;
        }, FreshEyes.Never<bool>);

    private static string Tidy(string? text) => string.Join(' ', (text ?? "").Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
}
