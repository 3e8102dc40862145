using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Tests.Publishing;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Letters;

/// <summary>The maker's letter to those left behind: who gets it, once, and what it says.</summary>
public sealed class BehindLetterTests
{
    private static readonly IOptions<ShelfSettings> Settings = Options.Create(new ShelfSettings { PublicUrl = OutBench.Address });

    /// <summary>1.0.0 and 1.1.0 are out, the latter for members after all; so many people have 1.0.0 by a finished download.</summary>
    private static async Task<(OutBench Bench, long First, long Latest, long[] People)> MakeAsync(int people, bool areMembers = true)
    {
        var bench = await OutBench.MakeAsync();
        var first = await bench.PublishedAsync("1.0.0");
        var ids = new List<long>();
        for (var i = 0; i < people; i++)
        {
            ids.Add(await bench.PersonAsync($"p{i}@example.org"));
            var made = await bench.FetchAsync(first, ids[^1]);
            await bench.WithAsync(db =>
            {
                db.DownloadTallies.Add(new DownloadTally { DownloadId = made.DownloadId, StartedAt = bench.Bench.Shelf.Clock.GetUtcNow(), FinishedAt = bench.Bench.Shelf.Clock.GetUtcNow() });
                return db.SaveChangesAsync();
            });
            if (areMembers)
                await bench.WithAsync(db =>
                {
                    db.MembershipGrants.Add(new() { PersonId = ids[^1], From = bench.Bench.Shelf.Clock.GetUtcNow() });
                    return db.SaveChangesAsync();
                });
        }
        var latest = await bench.PublishedAsync("1.1.0", Audience.Members);
        Assert.True(await bench.WithAsync(db => new RollUpVersions(db, bench.Bench.Shelf.Clock).RunAsync(default)));
        return (bench, first, latest, [.. ids]);
    }

    private static Task<BehindLetterOutcome> AskAsync(OutBench bench, long id, string words = "Dear *listener*,") =>
        bench.WithAsync(db => new AskForBehindLetter(db, bench.Bench.Shelf.Clock).RunAsync(id, words, default));

    private static Task<int> WriteAsync(OutBench bench, long id) => bench.WithAsync(db => new WriteBehindLetters(db, bench.Bench.Shelf.Clock) { AtATime = 2 }.RunAsync(id, default));

    private static Task<BehindLook?> LookAsync(OutBench bench, long id) => bench.WithAsync(db => new LookAtBehindLetter(db, bench.Bench.Shelf.Clock, Settings).RunAsync(id, "Dear *listener*,", default));

    private static Task<LetterOutcome> ComposeAsync(OutBench bench, OutboxMail mail) => bench.WithAsync(db => new WriteLetter(db, bench.Bench.Shelf.Clock, Settings).RunAsync(mail, default));

    [Fact]
    public async Task Who_may_have_it_and_wants_such_mails_gets_it_and_the_preview_says_how_many()
    {
        var (bench, _, latest, people) = await MakeAsync(6);
        await using var owned = bench;
        await bench.WithAsync(async db =>
        {
            // One wants none, one's mailbox is closed, one is no member any more; all have 1.0.0.
            db.MailRefusals.Add(new() { PersonId = people[1], Kind = MailKind.NewVersion });
            db.MailSuppressions.Add(new() { NormalizedEmail = "P2@EXAMPLE.ORG", Because = "550 5.1.1" });
            await db.SaveChangesAsync();
            await db.MembershipGrants.Where(g => g.PersonId == people[3]).ExecuteDeleteAsync();
            return 0;
        });
        var look = (await LookAsync(bench, latest))!;
        Assert.Equal(3, look.People);
        Assert.StartsWith("Dear listener,\n\n", look.Example!.Text, StringComparison.Ordinal);
        Assert.Contains("1.1.0 is on the shelf, and it is yours to fetch. The newest you downloaded is 1.0.0.", look.Example.Text, StringComparison.Ordinal);

        Assert.Equal(BehindLetterOutcome.Asked, await AskAsync(bench, latest));
        Assert.Equal(3, await WriteAsync(bench, latest));
        var mails = await bench.MailsAsync("behind:");
        Assert.Equal([people[0], people[4], people[5]], mails.Select(m => m.PersonId!.Value).Order());
        Assert.All(mails, m => Assert.Equal(($"behind:{latest}:{m.PersonId}", MailKind.NewVersion), (m.Cause, MailKinds.Of(m.Cause))));
        var written = Assert.IsType<LetterOutcome.Written>(await ComposeAsync(bench, mails[0]));
        Assert.StartsWith(written.Text[..200], look.Example.Text, StringComparison.Ordinal);

        var behind = (await bench.WithAsync(db => new ReadLeftBehind(db, bench.Bench.Shelf.Clock).RunAsync(SlugOf(db, latest), null, 1, default)))!;
        Assert.Equal((6, "1.0.0", 3), (behind.All, behind.Shown!.Number, behind.Letter!.Written));
        Assert.Equal(["1.1.0", "1.1.0", "1.1.0", "none", "1.1.0", "1.1.0"], behind.People.Select(p => p.MayHave ?? "none"));
        Assert.Equal([false, true, false, false, false, false], behind.People.Select(p => p.WantsNone));
        Assert.Equal([false, false, true, false, false, false], behind.People.Select(p => p.IsClosed));
    }

    private static string SlugOf(Core.Data.ShelfDb db, long release) => db.Releases.Where(r => r.Id == release).Select(r => r.Library.Slug).Single();

    [Fact]
    public async Task It_is_written_once_to_each_whatever_breaks_off_and_however_often_it_is_asked_for()
    {
        var (bench, _, latest, people) = await MakeAsync(7);
        await using var owned = bench;
        Assert.Equal(BehindLetterOutcome.Asked, await AskAsync(bench, latest));
        Assert.Equal(BehindLetterOutcome.WrittenBefore, await AskAsync(bench, latest, "Again"));
        // It breaks off in each of its transactions, before and in the middle of its writing.
        for (var stopAt = 1; stopAt < 40; stopAt++)
        {
            await using var db = bench.Bench.Shelf.Open(new StopsAt(stopAt));
            try
            {
                await new WriteBehindLetters(db, bench.Bench.Shelf.Clock) { AtATime = 2 }.RunAsync(latest, default);
            }
            catch (OperationCanceledException)
            {
                // As a kill would.
            }
        }
        await WriteAsync(bench, latest);
        Assert.Equal(people, (await bench.MailsAsync("behind:")).Select(m => m.PersonId!.Value).Order());
        var letter = await bench.WithAsync(db => db.BehindLetters.AsNoTracking().SingleAsync());
        Assert.Equal((7, true, 0L), (letter.Written, letter.DoneAt is not null, letter.AfterPersonId));
        Assert.Equal(0, await WriteAsync(bench, latest));
        // Were the letter's row lost, nobody would be written to again either.
        await bench.WithAsync(db => db.BehindLetters.ExecuteDeleteAsync());
        Assert.Equal(0, (await LookAsync(bench, latest))!.People);
        Assert.Equal(BehindLetterOutcome.Asked, await AskAsync(bench, latest));
        Assert.Equal(0, await WriteAsync(bench, latest));
        Assert.Equal(7, (await bench.MailsAsync("behind:")).Count);
    }

    /// <summary>Cancels the nth command, as if the program ended there.</summary>
    private sealed class StopsAt(int command) : Microsoft.EntityFrameworkCore.Diagnostics.DbCommandInterceptor
    {
        private int seen;

        public override ValueTask<Microsoft.EntityFrameworkCore.Diagnostics.InterceptionResult<System.Data.Common.DbDataReader>> ReaderExecutingAsync(
            System.Data.Common.DbCommand dbCommand, Microsoft.EntityFrameworkCore.Diagnostics.CommandEventData eventData,
            Microsoft.EntityFrameworkCore.Diagnostics.InterceptionResult<System.Data.Common.DbDataReader> result, CancellationToken cancellationToken = default) =>
            ++seen == command ? throw new OperationCanceledException() : base.ReaderExecutingAsync(dbCommand, eventData, result, cancellationToken);
    }

    [Fact]
    public async Task A_mail_whose_turn_comes_when_it_is_not_needed_is_left_out()
    {
        var (bench, _, latest, people) = await MakeAsync(2);
        await using var owned = bench;
        await AskAsync(bench, latest);
        await WriteAsync(bench, latest);
        var mails = await bench.MailsAsync("behind:");
        // One has it meanwhile.
        var made = await bench.FetchAsync(latest, people[0]);
        await bench.WithAsync(async db =>
        {
            db.DownloadTallies.Add(new DownloadTally { DownloadId = made.DownloadId, FinishedAt = bench.Bench.Shelf.Clock.GetUtcNow() });
            db.VersionMarks.Add(new() { PersonId = people[0] });
            await db.SaveChangesAsync();
            return await new RollUpVersions(db, bench.Bench.Shelf.Clock).RunAsync(default);
        });
        Assert.Equal("Not sent: they have it meanwhile.", Assert.IsType<LetterOutcome.NotNeeded>(await ComposeAsync(bench, mails[0])).Why);
        Assert.IsType<LetterOutcome.Written>(await ComposeAsync(bench, mails[1]));
        // And a newer one comes out.
        var newer = await bench.PublishedAsync("1.2.0", Audience.Members);
        Assert.Equal("Not sent: a newer version is there meanwhile.", Assert.IsType<LetterOutcome.NotNeeded>(await ComposeAsync(bench, mails[1])).Why);
        Assert.Equal(BehindLetterOutcome.NotTheLatest, await AskAsync(bench, latest));
        Assert.Equal(2, (await LookAsync(bench, newer))!.People);
    }

    [Fact]
    public async Task A_letter_that_is_too_long_is_not_taken()
    {
        var (bench, _, latest, _) = await MakeAsync(1);
        await using var owned = bench;
        Assert.Equal(BehindLetterOutcome.TooLong, await AskAsync(bench, latest, new string('a', AskForBehindLetter.MostWords + 1)));
        Assert.False(await bench.WithAsync(db => db.BehindLetters.AnyAsync()));
    }
}
