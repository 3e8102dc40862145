using System.Text;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Membership;

public sealed class ImportMembersTests
{
    private const string Address = "https://shelf.example";

    private static byte[] List(params string[] lines) => Encoding.UTF8.GetBytes("email,member_from,member_until,note,consent\n" + string.Join('\n', lines) + "\n");

    private static async Task<TempShelf> ShelfAsync()
    {
        var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", TimeZone = "Europe/Lisbon", Contact = "maker@saltmarsh.example" });
        var maker = People.New("maker@saltmarsh.example", shelf.Clock.GetUtcNow());
        maker.IsMaker = true;
        db.Users.Add(maker);
        await db.SaveChangesAsync();
        return shelf;
    }

    private static async Task<ImportReading.Tried> TryAsync(TempShelf shelf, byte[] list)
    {
        await using var db = shelf.Open();
        return Assert.IsType<ImportReading.Tried>(await new ReadImport(db, shelf.Clock).RunAsync(list, default));
    }

    private static async Task<ImportOutcome> BringAsync(TempShelf shelf, byte[] list, string? hash = null, string consent = "To hear of new libraries.", IInterceptor? watch = null)
    {
        await using var db = shelf.Open(watch);
        var wish = new ImportWish(list, hash ?? ReadImport.HashOf(list), "The newsletter of 2024", consent, TheyAgreed: true);
        return await new ImportMembers(db, shelf.Clock).RunAsync(wish, Address, default);
    }

    private static async Task<T> AskAsync<T>(TempShelf shelf, Func<ShelfDb, Task<T>> ask)
    {
        await using var db = shelf.Open();
        return await ask(db);
    }

    [Fact]
    public async Task The_first_press_says_what_would_come_and_writes_nothing()
    {
        await using var shelf = await ShelfAsync();
        await using (var db = shelf.Open())
            await new GrantMembership(db, shelf.Clock).RunAsync("dunlin@post.example", "", null, null, default);
        var tried = await TryAsync(shelf, List(
            "wren@post.example,2026-03-01,,,", "knot@post.example,,,,", "DUNLIN@post.example,,2026-12-31,,", "maker@saltmarsh.example,,,,", "nobody,,,,", "Wren@post.example,,,,"));
        Assert.Equal([2, 3, 4, 5, 6, 7], tried.Lines.Select(l => l.Number));
        Assert.Equal([null, null, null, ImportFault.MakersOwn, ImportFault.NoAddress, ImportFault.TwiceInList], tried.Lines.Select(l => l.Fault));
        Assert.Equal([true, true, false, false, false, false], tried.Lines.Select(l => l.IsNews));
        Assert.Equal(new MemberTime(new(2026, 3, 1, 0, 0, 0, TimeSpan.Zero), null), tried.Lines[0].Gets); // Lisbon, winter: UTC
        Assert.Null(tried.Lines[1].Gets);
        // A member without an end from today on has what begins today.
        Assert.True(tried.Lines[2].IsMember);
        Assert.Equal((2, 0, 1), (await AskAsync(shelf, d => d.Users.CountAsync()), await AskAsync(shelf, d => d.MemberImports.CountAsync()), await AskAsync(shelf, d => d.Outbox.CountAsync())));
    }

    [Fact]
    public async Task The_second_brings_them_with_their_months_and_one_mail_each()
    {
        await using var shelf = await ShelfAsync();
        var list = List("wren@post.example,2026-03-01,2026-05-31,lent tins,by post in May", "knot@post.example,,,,", "robin@post.example,2026-11-01,,,");
        Assert.Equal(new ImportOutcome.Brought(3, 2, 0, 0), await BringAsync(shelf, list));
        var grants = await AskAsync(shelf, d => d.MembershipGrants.OrderBy(g => g.From).ToListAsync());
        // The last day counts whole by the shop's own clock: Lisbon is an hour ahead in summer.
        Assert.Equal((new(2026, 5, 31, 23, 0, 0, TimeSpan.Zero), "lent tins"), ((DateTimeOffset)grants[0].Until!, grants[0].Note));
        Assert.Equal((null, "From The newsletter of 2024"), (grants[1].Until, grants[1].Note));
        await using var db = shelf.Open();
        var wren = await db.Users.Where(p => p.Email == "wren@post.example").Select(p => p.Id).SingleAsync();
        var facts = await PersonFacts.LoadAsync(db, wren, shelf.Clock.GetUtcNow(), default);
        Assert.Equal((false, "2026-03 2026-04 2026-05"), (facts.IsActiveMember, string.Join(' ', facts.Months.Order().Select(NodaTime.Text.YearMonthPattern.Iso.Format))));
        var mails = await db.Outbox.OrderBy(m => m.Id).ToListAsync();
        Assert.Equal(["wren@post.example", "knot@post.example", "robin@post.example"], mails.Select(m => m.To));
        Assert.Equal($"claim:{wren}", mails[0].Cause);
        foreach (var said in new[] { "The newsletter of 2024", "by post in May", "1 March 2026 to 31 May 2026", Address + "/sign-in", "maker@saltmarsh.example", "Delete me" })
            Assert.Contains(said, mails[0].Text, StringComparison.Ordinal);
        Assert.Contains("To hear of new libraries.", mails[1].Text, StringComparison.Ordinal);
        Assert.Contains("a membership since 1 November 2026", mails[2].Text, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Pressed_again_or_on_another_list_nobody_is_doubled_and_nobody_is_written_to_twice()
    {
        await using var shelf = await ShelfAsync();
        var list = List("wren@post.example,2026-03-01,,,", "knot@post.example,,,,");
        await BringAsync(shelf, list);
        shelf.Clock.Advance(TimeSpan.FromDays(1));
        Assert.Equal(
            new ImportReading.BroughtBefore(shelf.Clock.GetUtcNow().AddDays(-1)), await AskAsync(shelf, d => new ReadImport(d, shelf.Clock).RunAsync(list, default)));
        Assert.IsType<ImportOutcome.BroughtBefore>(await BringAsync(shelf, list));
        // Another list with one more, and a membership for somebody brought without.
        Assert.Equal(new ImportOutcome.Brought(1, 1, 1, 0), await BringAsync(shelf, List("wren@post.example,2026-03-01,,,", "knot@post.example,2026-10-01,,,", "robin@post.example,,,,")));
        Assert.Equal(
            (3, 2, 3, 2, 5),
            (await AskAsync(shelf, d => d.Users.CountAsync(p => !p.IsMaker)), await AskAsync(shelf, d => d.MembershipGrants.CountAsync()), await AskAsync(shelf, d => d.Outbox.CountAsync()),
                await AskAsync(shelf, d => d.MemberImports.CountAsync()), await AskAsync(shelf, d => d.ImportedMembers.CountAsync())));
    }

    /// <summary>What the maker ended meanwhile does not come back by pressing again.</summary>
    [Fact]
    public async Task Ended_since_it_stays_ended()
    {
        await using var shelf = await ShelfAsync();
        var list = List("wren@post.example,2026-03-01,,,");
        await BringAsync(shelf, list);
        var wren = await AskAsync(shelf, d => d.MembershipGrants.Select(g => g.PersonId).SingleAsync());
        await AskAsync(shelf, d => new EndMembership(d, shelf.Clock).RunAsync(wren, default));
        Assert.IsType<ImportOutcome.BroughtBefore>(await BringAsync(shelf, list));
        Assert.Equal(1, await AskAsync(shelf, d => d.MembershipGrants.CountAsync()));
    }

    [Fact]
    public async Task Deleted_since_they_are_not_added_and_not_written_to_again()
    {
        await using var shelf = await ShelfAsync();
        var list = List("wren@post.example,2026-03-01,,,", "knot@post.example,,,,");
        await BringAsync(shelf, list);
        await AskAsync(shelf, d => d.Users.Where(p => p.Email == "wren@post.example").ExecuteDeleteAsync());
        await AskAsync(shelf, d => d.Outbox.ExecuteDeleteAsync());
        Assert.IsType<ImportOutcome.BroughtBefore>(await BringAsync(shelf, list));
        Assert.Equal((1, 0), (await AskAsync(shelf, d => d.Users.CountAsync(p => !p.IsMaker)), await AskAsync(shelf, d => d.Outbox.CountAsync())));
    }

    [Fact]
    public async Task Broken_off_half_way_it_goes_on_where_it_was()
    {
        await using var shelf = await ShelfAsync();
        var list = List([.. Enumerable.Range(0, 250).Select(n => $"p{n:000}@post.example,2026-03-01,,,")]);
        await Assert.ThrowsAsync<InvalidOperationException>(() => BringAsync(shelf, list, watch: new BreaksOff(commits: 2)));
        var half = await AskAsync(shelf, d => d.ImportedMembers.CountAsync());
        Assert.InRange(half, 1, 249);
        var members = await AskAsync(shelf, d => d.MembershipGrants.CountAsync());
        Assert.Equal((half, half), (members, await AskAsync(shelf, d => d.Outbox.CountAsync())));
        var again = await TryAsync(shelf, list);
        Assert.NotNull(again.Before);
        Assert.Equal(half, again.Lines.Count(l => (l.IsTaken, l.IsNews) == (true, false)));
        Assert.Equal(new ImportOutcome.Brought(250 - half, 250 - half, half, 0), await BringAsync(shelf, list));
        Assert.Equal(
            (250, 250, 250, 1),
            (await AskAsync(shelf, d => d.ImportedMembers.CountAsync()), await AskAsync(shelf, d => d.MembershipGrants.CountAsync()), await AskAsync(shelf, d => d.Outbox.CountAsync()),
                await AskAsync(shelf, d => d.MemberImports.CountAsync())));
    }

    [Fact]
    public async Task What_was_not_shown_or_not_said_is_not_brought()
    {
        await using var shelf = await ShelfAsync();
        Assert.IsType<ImportOutcome.NotTheListShown>(await BringAsync(shelf, List("wren@post.example,,,,"), hash: ReadImport.HashOf(List("knot@post.example,,,,"))));
        Assert.IsType<ImportOutcome.NotTheListShown>(await BringAsync(shelf, "name\nWren\n"u8.ToArray()));
        Assert.IsType<ImportOutcome.NotSaid>(await BringAsync(shelf, List("wren@post.example,,,,"), consent: " "));
        Assert.Equal((1, 0), (await AskAsync(shelf, d => d.Users.CountAsync()), await AskAsync(shelf, d => d.MemberImports.CountAsync())));
    }

    [Fact]
    public async Task The_first_sign_in_claims_the_place()
    {
        await using var shelf = await ShelfAsync();
        await BringAsync(shelf, List("wren@post.example,,,,", "knot@post.example,,,,"));
        shelf.Clock.Advance(TimeSpan.FromDays(2));
        var settings = Options.Create(new ShelfSettings());
        await AskAsync(shelf, d => new AskForSignIn(d, shelf.Clock, settings).RunAsync("wren@post.example", Address, "", default));
        var text = await AskAsync(shelf, d => d.Outbox.Where(m => m.Cause.StartsWith("sign-in")).Select(m => m.Text).SingleAsync());
        var token = text[(text.IndexOf("/sign-in/", StringComparison.Ordinal) + 9)..][..43];
        Assert.IsType<SignInOutcome.Done>(await AskAsync(shelf, d => new UseSignIn(d, shelf.Clock).RunAsync(new SignInProof.Link(token), default)));
        var summary = Assert.Single(await AskAsync(shelf, d => new ReadImports(d).RunAsync(default)));
        Assert.Equal((2, 1), (summary.People, summary.Claimed));
        Assert.Equal(shelf.Clock.GetUtcNow(), await AskAsync(shelf, d => d.ImportedMembers.Where(m => m.ClaimedAt != null).Select(m => m.ClaimedAt).SingleAsync()));
        // Who has signed in before has nothing to claim.
        await BringAsync(shelf, List("wren@post.example,2026-10-01,,,"));
        Assert.Equal(2, await AskAsync(shelf, d => d.ImportedMembers.CountAsync(m => m.ClaimedAt != null)));
    }

    [Fact]
    public async Task Two_addresses_of_one_person_are_that_person()
    {
        await using var shelf = await ShelfAsync();
        await using (var db = shelf.Open())
        {
            var wren = People.New("wren@post.example", shelf.Clock.GetUtcNow());
            db.Users.Add(wren);
            await db.SaveChangesAsync();
            var old = People.New("wren@old.example", shelf.Clock.GetUtcNow());
            old.MergedIntoId = wren.Id;
            db.Users.Add(old);
            await db.SaveChangesAsync();
        }
        var list = List("wren@old.example,2026-03-01,,,", "wren@post.example,2026-03-01,,,");
        var twin = (await TryAsync(shelf, list)).Lines[1];
        Assert.Equal((ImportFault.TwiceInList, 2), (twin.Fault, twin.TwinOf));
        Assert.Equal(new ImportOutcome.Brought(0, 1, 0, 1), await BringAsync(shelf, list));
        Assert.Equal("wren@post.example", await AskAsync(shelf, d => d.Outbox.Select(m => m.To).SingleAsync()));
    }

    /// <summary>The machine goes away before the next commit.</summary>
    private sealed class BreaksOff(int commits) : DbTransactionInterceptor
    {
        private int left = commits;

        public override ValueTask<InterceptionResult> TransactionCommittingAsync(
            System.Data.Common.DbTransaction transaction, TransactionEventData eventData, InterceptionResult result, CancellationToken cancellationToken = default) =>
            left-- > 0 ? ValueTask.FromResult(result) : throw new InvalidOperationException("The machine goes away.");
    }
}
