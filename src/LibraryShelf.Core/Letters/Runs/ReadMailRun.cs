using LibraryShelf.Core.Data;

namespace LibraryShelf.Core.Letters.Runs;

/// <summary>How far mails to many are: how many were written, how many have gone, and whether the maker stopped the rest.</summary>
public sealed class ReadMailRun(ShelfDb db)
{
    public Task<MailsGone> RunAsync(MailRun run, CancellationToken cancellationToken) => MailRuns.GoneAsync(db, run, cancellationToken);
}
