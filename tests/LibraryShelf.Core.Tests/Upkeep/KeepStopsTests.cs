using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Upkeep;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Upkeep;

/// <summary>Who wanted no mails after the backup was made gets none from the shelf restored from it.</summary>
public sealed class KeepStopsTests
{
    [Fact]
    public async Task What_was_stopped_since_is_stopped_again_and_nobody_is_named_in_the_file()
    {
        using var lost = new UpkeepShelf();
        await lost.AddAsync([.. People(lost.Now)]);
        await lost.AddAsync(new MailRefusal { PersonId = 1, Kind = MailKind.Drop }, new Follower { LibraryId = 1, Email = "sedge@post.example", NormalizedEmail = "SEDGE@POST.EXAMPLE", Key = "f3", ConfirmedAt = lost.Now });
        Assert.True(await lost.IsUnkeptAsync());
        Assert.Null(await lost.KeepStopsAsync());
        Assert.False(await lost.IsUnkeptAsync());

        await using (var db = lost.Open())
        {
            db.AddRange(
                new MailRefusal { PersonId = 2, Kind = MailKind.NewVersion }, new MailSuppression { NormalizedEmail = "WREN@POST.EXAMPLE", Because = "550 5.1.1 <wren@post.example>" },
                new MailSuppression { NormalizedEmail = "TEAL@POST.EXAMPLE", Because = "550 5.1.1" });
            await db.Followers.Where(f => f.Key == "f1").ExecuteDeleteAsync();
            await db.SaveChangesAsync();
        }
        Assert.True(await lost.IsUnkeptAsync());
        Assert.Null(await lost.KeepStopsAsync());
        var text = await File.ReadAllTextAsync(Path.Combine(lost.Backups, "stops.json"));
        Assert.DoesNotContain("post.example", text, StringComparison.OrdinalIgnoreCase);

        // As the backup of the day before holds it.
        await using var restored = await TempShelf.MakeAsync();
        await using (var db = restored.Open())
        {
            foreach (var row in People(lost.Now))
            {
                db.Add(row);
                await db.SaveChangesAsync();
            }
            db.MailRefusals.Add(new MailRefusal { PersonId = 1, Kind = MailKind.Drop });
            await db.SaveChangesAsync();
            var kept = (await KeptStops.ReadAsync(Path.Combine(lost.Backups, "stops.json"), default))!;
            Assert.Equal(4, await kept.ReplayAsync(db, default));
            db.ChangeTracker.Clear();
            Assert.Equal(0, await kept.ReplayAsync(db, default));
        }
        await using var after = restored.Open();
        Assert.Equal([(1L, MailKind.Drop), (2L, MailKind.NewVersion)], (await after.MailRefusals.OrderBy(r => r.PersonId).ToListAsync()).Select(r => (r.PersonId, r.Kind)));
        Assert.Equal(["TEAL@POST.EXAMPLE", "WREN@POST.EXAMPLE"], (await after.MailSuppressions.Select(s => s.NormalizedEmail).ToListAsync()).Order(StringComparer.Ordinal));
        Assert.Equal(["f2"], await after.Followers.Select(f => f.Key).ToListAsync());
    }

    [Fact]
    public async Task The_file_is_how_things_stand_and_what_is_wanted_again_or_deleted_is_not_in_it()
    {
        using var shelf = new UpkeepShelf();
        Assert.False(await shelf.IsUnkeptAsync());
        await shelf.AddAsync([.. People(shelf.Now)]);
        await shelf.AddAsync(new MailRefusal { PersonId = 2, Kind = MailKind.Drop });
        Assert.Null(await shelf.KeepStopsAsync());
        var file = Path.Combine(shelf.Backups, "stops.json");
        var noted = await KeptStops.ReadAsync(file, default);
        Assert.Equal(2, Assert.Single(noted!.Refusals["Drop"]));
        await using (var db = shelf.Open())
            await db.MailRefusals.ExecuteDeleteAsync();
        Assert.True(await shelf.IsUnkeptAsync());
        await shelf.BackedUpAsync();
        Assert.False(await shelf.IsUnkeptAsync());
        Assert.Empty((await KeptStops.ReadAsync(file, default))!.Refusals);
        Directory.Delete(shelf.Backups, recursive: true);
        Assert.False(await shelf.IsUnkeptAsync());
        Assert.Contains("is not there", await shelf.KeepStopsAsync(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_damaged_file_is_written_anew_and_a_damaged_deletion_is_named()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync([.. People(shelf.Now)]);
        var (stops, deletions) = (Path.Combine(shelf.Backups, "stops.json"), Path.Combine(shelf.Backups, "deletions.jsonl"));
        await File.WriteAllTextAsync(stops, "{\"at\":");
        Assert.True(await shelf.IsUnkeptAsync());
        await shelf.BackedUpAsync();
        Assert.NotNull(await KeptStops.ReadAsync(stops, default));
        await File.WriteAllTextAsync(deletions, "\n{\"personId\":");
        await shelf.AddAsync(new Deletion { PersonId = 5, At = shelf.Now });
        Assert.True(await shelf.IsUnkeptAsync());
        Assert.Contains($"line 2 of {deletions} is damaged", await shelf.KeepDeletionsAsync(), StringComparison.Ordinal);
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        await shelf.BackedUpAsync();
        Assert.Contains($"line 2 of {deletions} is damaged", Assert.IsType<RestoreOutcome.Refused>(await shelf.RestoreAsync()).Words, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_deletion_that_could_not_be_noted_is_found()
    {
        using var shelf = new UpkeepShelf();
        await shelf.AddAsync(new Deletion { PersonId = 5, At = shelf.Now });
        Assert.True(await shelf.IsUnkeptAsync());
        Assert.Null(await shelf.KeepDeletionsAsync());
        Assert.False(await shelf.IsUnkeptAsync());
        await shelf.AddAsync(new Deletion { PersonId = 5, At = shelf.Now, Payer = "hash" });
        Assert.True(await shelf.IsUnkeptAsync());
    }

    private static IEnumerable<object> People(DateTimeOffset now) =>
    [
        LibraryShelf.Core.Accounts.People.New("wren@post.example", now), LibraryShelf.Core.Accounts.People.New("dunlin@post.example", now),
        new Library { Slug = "kettles", Title = "Kettles", CreatedAt = now },
        Followed("plover", 1, now), Followed("teal", 2, now),
    ];

    private static Follower Followed(string name, int number, DateTimeOffset now) => new()
    {
        LibraryId = 1, Email = $"{name}@post.example", NormalizedEmail = $"{name}@post.example".ToUpperInvariant(), Key = $"f{number}", AskedAt = now, ConfirmedAt = now,
    };
}
