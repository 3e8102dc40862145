using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Send;

/// <summary>What was sent and what the shelf's check said of it. Bytes; "sent" counts only what went over the line.</summary>
internal sealed record Sent(SendOrder Order, LocalFolder Folder, DraftAnswer Draft, int SentFiles, long SentBytes, StandingAnswer Standing, Uri Sheet);

/// <summary>Sends one folder: hash, ask what the shelf has, send the rest three at a time, ask for the check and wait for it.</summary>
internal sealed class FolderSender(ShelfConsole console, HttpClient http, HashMemory memory, TimeProvider clock)
{
    private const int AtATime = 3;

    /// <summary>
    /// How long to wait before asking again, where the shelf does not wait itself: a check of a few mended takes is done at once, one of a new library takes
    /// a while.
    /// </summary>
    private static readonly TimeSpan FirstLook = TimeSpan.FromMilliseconds(15), LongestWait = TimeSpan.FromMilliseconds(500);

    /// <summary>Each wait is longer than the one before by this share, so that little of a short check is waited for in vain.</summary>
    private const double Longer = 0.25;

    public async Task<Sent> RunAsync(SendOrder order, CancellationToken cancellationToken)
    {
        var folder = LocalFolder.Read(order.Folder);
        if (folder.Files.Count == 0)
            throw new CouldNotRunException($"there is no file in {order.Folder}.");
        var patience = new Patience(clock);
        http.BaseAddress = order.Shelf;
        var shelf = new ShelfClient(http, order, patience);
        // First a word with the shelf: a wrong token must not cost the hashing of gigabytes.
        var draft = await shelf.StartDraftAsync(order.Library, order.Number, cancellationToken);
        var lines = await HashAsync(folder, cancellationToken);
        var plan = await shelf.PlanAsync(draft.Id, lines, cancellationToken);
        var sentBytes = await SendAsync(shelf, patience, draft.Id, folder, plan, cancellationToken);
        var standing = await CheckAsync(shelf, draft.Id, cancellationToken);
        return new Sent(order, folder, draft, plan.Wanted.Count, sentBytes, standing, shelf.At(draft.Sheet));
    }

    private async Task<List<PlanLine>> HashAsync(LocalFolder folder, CancellationToken cancellationToken)
    {
        memory.Load();
        var hashes = folder.Files.ToDictionary(f => f.Path, memory.Recall, StringComparer.Ordinal);
        var unread = folder.Files.Where(f => hashes[f.Path] is null).ToList();
        var begun = memory.Now();
        using (var progress = console.StartProgress("Reading", unread.Sum(f => f.Size)))
        {
            foreach (var sums in await FileHashing.HashAsync(unread, progress.Add, cancellationToken))
            {
                if (sums.Size != sums.File.Size)
                    throw new CouldNotRunException($"\"{sums.File.Path}\" changed while it was read. Nothing was sent; run the same command again.");
                hashes[sums.File.Path] = sums.Sha256;
                memory.Remember(sums, begun);
            }
        }
        memory.Save();
        return [.. folder.Files.Select(f => new PlanLine(f.Path, f.Size, hashes[f.Path]!))];
    }

    private async Task<long> SendAsync(
        ShelfClient shelf, Patience patience, long draft, LocalFolder folder, PlanAnswer plan, CancellationToken cancellationToken)
    {
        var files = folder.Files.ToDictionary(f => f.Path, StringComparer.Ordinal);
        long sent = 0;
        using var progress = console.StartProgress("Sending", plan.WantedBytes);
        var three = new ParallelOptions { MaxDegreeOfParallelism = AtATime, CancellationToken = cancellationToken };
        await Parallel.ForEachAsync(plan.Wanted, three, async (wanted, token) =>
        {
            if (!files.TryGetValue(wanted.Path, out var file))
                throw new CouldNotRunException($"the shelf wants \"{wanted.Path}\", which is not in the folder. Run the same command again.");
            await new TusSender(shelf, patience, Count).SendAsync(draft, file, wanted, token);
        });
        return sent;

        void Count(long bytes)
        {
            Interlocked.Add(ref sent, bytes);
            progress.Add(bytes);
        }
    }

    private async Task<StandingAnswer> CheckAsync(ShelfClient shelf, long draft, CancellationToken cancellationToken)
    {
        var standing = await shelf.AskForCheckAsync(draft, cancellationToken);
        using var progress = console.StartProgress("Checking", standing.CheckTotal);
        var (wait, asked) = (FirstLook, clock.GetTimestamp());
        for (var done = 0; standing.IsChecking; standing = await shelf.ReadAsync(draft, cancellationToken))
        {
            progress.Add(standing.CheckDone - done);
            done = standing.CheckDone;
            if (wait - clock.GetElapsedTime(asked) is var left && left > TimeSpan.Zero)
                await Task.Delay(left, clock, cancellationToken);
            asked = clock.GetTimestamp();
            wait = wait * (1 + Longer) < LongestWait ? wait * (1 + Longer) : LongestWait;
        }
        return standing;
    }
}
