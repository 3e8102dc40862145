using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Upkeep;

/// <summary>On SQLite, where the backup's copy is a database by itself.</summary>
[Trait("Database", "sqlite")]
public sealed class RestoreBackupTests
{
    [Fact]
    public async Task A_restored_shelf_has_everything_and_starts_quiet()
    {
        using var shelf = new UpkeepShelf();
        var hash = await shelf.StoreAsync("one");
        await File.WriteAllTextAsync(Path.Combine(shelf.Paths.Root, "practice.json"), "{}");
        await shelf.AddAsync(
            new Shop { Name = "Saltmarsh" }, LinkKey.Make(shelf.Now), new OutboxMail { Cause = "a", CreatedAt = shelf.Now }, new OutboxMail { Cause = "b", SentAt = shelf.Now },
            new Download { Id = "open", StartBy = shelf.Now.AddDays(1), FinishBy = shelf.Now.AddDays(2) }, new Upload { Id = "half" },
            new Upload { Id = "whole", FinishedAt = shelf.Now }, new JobRun { Name = "CheckJob" }, new Plan { Minor = 700 });
        byte[] secret;
        await using (var db = shelf.Open())
            secret = (await db.LinkKeys.SingleAsync()).Secret;
        await shelf.BackedUpAsync();
        Directory.Delete(shelf.Paths.Blobs, recursive: true);

        shelf.Clock.Advance(TimeSpan.FromHours(5));
        var restored = Assert.IsType<RestoreOutcome.Restored>(await shelf.RestoreAsync());
        Assert.Equal((0, 1), (restored.DeletedAgain, restored.Mails));
        Assert.Equal("one", await File.ReadAllTextAsync(new Adapters.Storage.DiskBlobStore(shelf.Restored).LocalPath(hash)!));
        Assert.Equal(["blobs", "outbox", "practice.json", "shelf.db", "uploads"], Directory.GetFileSystemEntries(shelf.Restored.Root).Select(e => Path.GetFileName(e)).Order(StringComparer.Ordinal));
        await using var quiet = await shelf.OpenRestoredAsync();
        Assert.Equal(shelf.Now, (await quiet.Shops.SingleAsync()).HeldSince);
        Assert.NotEqual(secret, (await quiet.LinkKeys.SingleAsync()).Secret);
        Assert.Equal(shelf.Now, (await quiet.Downloads.SingleAsync()).RevokedAt);
        Assert.Equal("whole", (await quiet.Uploads.SingleAsync()).Id);
        Assert.Empty(await quiet.JobRuns.ToListAsync());
        await UpkeepShelf.NumbersGoOnElsewhereAsync(quiet);
    }

    /// <summary>Deleted after the backup: by number, also where two were merged in between; not a later person who was given the number again.</summary>
    [Fact]
    public async Task Who_was_deleted_after_the_backup_is_deleted_again_and_nobody_else()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(Person("wren@post.example", shelf), Person("other.wren@post.example", shelf), Person("dunlin@post.example", shelf));
        await shelf.BackedUpAsync();
        shelf.Clock.Advance(TimeSpan.FromHours(1));
        var at = shelf.Now;
        await shelf.AddAsync(new Deletion { PersonId = 1, At = at }, new Deletion { PersonId = 2, At = at }, new Deletion { PersonId = 3, At = at.AddDays(-30) });
        await shelf.AddAsync(new Deletion { PersonId = 9, At = at }, new Deletion { PersonId = 9, At = at, Payer = Deletion.PayerOf("cus_9") });
        Assert.Null(await shelf.KeepDeletionsAsync());
        var restored = Assert.IsType<RestoreOutcome.Restored>(await shelf.RestoreAsync());
        Assert.Equal(2, restored.DeletedAgain);
        await using var quiet = await shelf.OpenRestoredAsync();
        // The third was not known yet when somebody of that number was deleted.
        Assert.Equal("dunlin@post.example", (await quiet.Users.SingleAsync()).Email);
        Assert.Equal(5, await quiet.Deletions.CountAsync());
        Assert.Equal((9, at), await quiet.Deletions.Where(d => d.Payer == Deletion.PayerOf("cus_9")).Select(d => ValueTuple.Create(d.PersonId, d.At)).SingleAsync());
        Assert.Equal(0, await new DeleteAgain(quiet).RunAsync([(1, at, null), (2, at, null)], default));
    }

    [Fact]
    public async Task Who_stopped_mails_after_the_backup_gets_none_and_what_was_noted_before_it_says_nothing()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(Person("wren@post.example", shelf), Person("dunlin@post.example", shelf));
        await shelf.KeepStopsAsync();
        shelf.Clock.Advance(TimeSpan.FromHours(1));
        await shelf.AddAsync(new MailRefusal { PersonId = 1, Kind = MailKind.Drop });
        // Its file could not be written: the backup knows better than the older one.
        await shelf.BackedUpAsync();
        shelf.Clock.Advance(TimeSpan.FromHours(1));
        Assert.Equal(0, Assert.IsType<RestoreOutcome.Restored>(await shelf.RestoreAsync()).Stops);
        Directory.Delete(shelf.Restored.Root, recursive: true);
        await shelf.AddAsync(new MailRefusal { PersonId = 2, Kind = MailKind.Drop });
        await shelf.KeepStopsAsync();
        var (stops, whole) = (Path.Combine(shelf.Backups, "stops.json"), await File.ReadAllTextAsync(Path.Combine(shelf.Backups, "stops.json")));
        await File.WriteAllTextAsync(stops, whole[..^9]);
        Assert.Contains($"{stops} is damaged", Assert.IsType<RestoreOutcome.Refused>(await shelf.RestoreAsync()).Words, StringComparison.Ordinal);
        await File.WriteAllTextAsync(stops, whole);
        Assert.Equal(1, Assert.IsType<RestoreOutcome.Restored>(await shelf.RestoreAsync()).Stops);
        await using var quiet = await shelf.OpenRestoredAsync();
        Assert.Equal([1, 2], await quiet.MailRefusals.Select(r => r.PersonId).OrderBy(p => p).ToListAsync());
    }

    [Fact]
    public async Task A_trial_is_held_for_good_and_leaves_the_backups_as_they_were()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(new Shop { Name = "Saltmarsh" }, new OutboxMail { Cause = "a", CreatedAt = shelf.Now });
        await shelf.BackedUpAsync();
        Assert.True(Assert.IsType<RestoreOutcome.Restored>(await shelf.RestoreAsync(isTrial: true)).IsTrial);
        var before = Directory.GetFileSystemEntries(shelf.Backups, "*", SearchOption.AllDirectories);
        await using var trial = await shelf.OpenRestoredAsync();
        trial.Deletions.Add(new Deletion { PersonId = 1, At = shelf.Now });
        await trial.SaveChangesAsync();
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        Assert.IsType<BackupOutcome.Off>(await shelf.BackUpAsync(from: trial));
        Assert.Null(await shelf.KeepDeletionsAsync(trial));
        Assert.Equal(before, Directory.GetFileSystemEntries(shelf.Backups, "*", SearchOption.AllDirectories));
        Assert.True((await new ReadHold(trial, shelf.Clock).RunAsync(default))!.IsTrial);
        Assert.Equal(EndHoldOutcome.IsTrial, await new EndHold(trial, shelf.Clock).RunAsync(throwAway: true, default));
        Assert.NotNull((await trial.Shops.AsNoTracking().SingleAsync()).HeldSince);
        Assert.Null((await trial.Outbox.SingleAsync()).GaveUpAt);
    }

    /// <summary>A clock a year ahead made the later one: its name is of a day that has not come.</summary>
    [Fact]
    public async Task The_latest_is_the_one_that_was_made_last_and_not_one_from_a_day_to_come()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(new Shop { Name = "Saltmarsh" });
        var name = await shelf.BackedUpAsync();
        shelf.Clock.Advance(TimeSpan.FromDays(365));
        var ahead = await shelf.BackedUpAsync();
        shelf.Clock.AdjustTime(shelf.Now.AddDays(-364));
        Assert.Equal(name, Assert.IsType<RestoreOutcome.Restored>(await shelf.RestoreAsync()).Name);
        Directory.Delete(shelf.Restored.Root, recursive: true);
        Assert.Equal(ahead, Assert.IsType<RestoreOutcome.Restored>(await shelf.RestoreAsync(ahead)).Name);
    }

    [Fact]
    public async Task A_flipped_bit_in_the_backup_is_found_and_named_and_the_rest_can_be_had_without_it()
    {
        using var shelf = new UpkeepShelf();
        var (good, bad) = (await shelf.StoreAsync("good bytes"), await shelf.StoreAsync("bad bytes"));
        var name = await shelf.BackedUpAsync();
        UpkeepShelf.Flip(shelf.InPool(bad));
        var words = Assert.IsType<RestoreOutcome.Refused>(await shelf.RestoreAsync()).Words;
        Assert.Contains(bad, words, StringComparison.Ordinal);
        Assert.DoesNotContain(good, words, StringComparison.Ordinal);
        Assert.Empty(Directory.GetFileSystemEntries(shelf.Restored.Root));
        Assert.Equal([bad], Assert.IsType<RestoreOutcome.Restored>(await shelf.RestoreAsync(withoutDamaged: true)).Without);

        UpkeepShelf.Flip(Path.Combine(shelf.Backups, name, "shelf.db"));
        var elsewhere = new DataPaths(shelf.Restored.Root + "-2");
        Assert.Contains("shelf.db of the backup", Assert.IsType<RestoreOutcome.Refused>(await shelf.RestoreAsync(withoutDamaged: true, into: elsewhere)).Words, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Only_an_empty_folder_is_restored_into_and_one_that_was_cut_off_begins_anew()
    {
        using var shelf = new UpkeepShelf();
        await shelf.StoreAsync("one");
        var name = await shelf.BackedUpAsync();
        Assert.Contains("is not empty: it holds blobs, shelf.db", Assert.IsType<RestoreOutcome.Refused>(await shelf.RestoreAsync(into: shelf.Paths)).Words, StringComparison.Ordinal);
        Assert.Contains($"There are: {name}.", Assert.IsType<RestoreOutcome.Refused>(await shelf.RestoreAsync("2020-01-01T000000Z")).Words, StringComparison.Ordinal);
        // As a kill leaves it: some moved into place, the rest aside.
        Directory.CreateDirectory(shelf.Restored.Blobs);
        Directory.CreateDirectory(shelf.Restored.Restoring);
        await File.WriteAllTextAsync(Path.Combine(shelf.Restored.Restoring, "shelf.db"), "half");
        Assert.IsType<RestoreOutcome.Restored>(await shelf.RestoreAsync(name));
        Assert.False(Directory.Exists(shelf.Restored.Restoring));
        Assert.IsType<RestoreOutcome.Refused>(await shelf.RestoreAsync(name));
    }

    /// <summary>At each point of the moving into place, and again while what was left is cleared: there is no shelf yet, or a whole one.</summary>
    [Fact]
    public async Task Killed_anywhere_and_run_again_it_is_no_shelf_or_a_whole_one()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(new Shop { Name = "Saltmarsh" });
        var hash = await shelf.StoreAsync("one");
        await File.WriteAllTextAsync(Path.Combine(shelf.Paths.Root, "practice.json"), "{}");
        await shelf.BackedUpAsync();
        List<string> ends = [];
        for (var point = 1; point < 60 && ends is not [.., "not killed"]; point++)
        {
            var into = new DataPaths($"{shelf.Restored.Root}-{point}");
            var first = await KilledAsync(shelf, into, point);
            // Where the first left something to clear, the second dies in that.
            var second = first == "no shelf" ? await KilledAsync(shelf, into, 1 + (point % 3)) : first;
            if (second == "no shelf")
                Assert.IsType<RestoreOutcome.Restored>(await shelf.RestoreAsync(into: into));
            else if (second == "whole")
                Assert.Contains("Start the shelf", Assert.IsType<RestoreOutcome.Refused>(await shelf.RestoreAsync(into: into)).Words, StringComparison.Ordinal);
            ends.Add(first);
            RestoredFolder.Tidy(into);
            Assert.Equal(["blobs", "outbox", "practice.json", "shelf.db", "uploads"], Directory.GetFileSystemEntries(into.Root).Select(e => Path.GetFileName(e)).Order(StringComparer.Ordinal));
            Assert.Equal("one", await File.ReadAllTextAsync(new Adapters.Storage.DiskBlobStore(into).LocalPath(hash)!));
            await using var db = (await shelf.Copies.OpenAsync(into.Database, default))!;
            Assert.NotNull((await db.Shops.SingleAsync()).HeldSince);
        }
        Assert.Equal(["no shelf", "not killed", "whole"], ends.Distinct().Order(StringComparer.Ordinal));
    }

    private static async Task<string> KilledAsync(UpkeepShelf shelf, DataPaths into, int point)
    {
        var left = point;
        try
        {
            await shelf.RestoreAsync(into: into, between: () => _ = --left > 0 ? 0 : throw new OperationCanceledException());
            return "not killed";
        }
        catch (OperationCanceledException)
        {
            if (RestoredFolder.IsCutOff(into))
                return "no shelf";
            Assert.True(File.Exists(into.Database));
            return "whole";
        }
    }

    [Fact]
    public async Task A_backup_of_a_later_program_is_left_alone()
    {
        using var shelf = new UpkeepShelf();
        var manifest = Path.Combine(shelf.Backups, await shelf.BackedUpAsync(), "manifest.json");
        var text = await File.ReadAllTextAsync(manifest);
        Assert.Contains("\"migration\": \"2", text, StringComparison.Ordinal);
        await File.WriteAllTextAsync(manifest, text.Replace("\"migration\": \"2", "\"migration\": \"3", StringComparison.Ordinal));
        Assert.Contains("made by a later program", Assert.IsType<RestoreOutcome.Refused>(await shelf.RestoreAsync()).Words, StringComparison.Ordinal);
    }

    private static Person Person(string email, UpkeepShelf shelf) => new()
    {
        Email = email, NormalizedEmail = email.ToUpperInvariant(), UserName = email, NormalizedUserName = email.ToUpperInvariant(), CreatedAt = shelf.Now.AddDays(-10),
    };
}
