using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Membership;

public sealed class ReadMembersTests
{
    private static async Task<MemberList> ReadAsync(TempShelf shelf, MemberFilter? filter = null, int page = 1)
    {
        await using var db = shelf.Open();
        return await new ReadMembers(db, shelf.Clock).RunAsync(filter ?? new(), page, CancellationToken.None);
    }

    /// <summary>The database's word for everybody's state is that of the rule, under many mixtures of what was given and paid.</summary>
    [Fact]
    public async Task The_state_is_the_rules()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        var random = new Random(20261125);
        var people = Enumerable.Range(0, 150).Select(n => People.New($"p{n:000}@post.example", shelf.Clock.GetUtcNow())).ToList();
        db.Users.AddRange(people);
        await db.SaveChangesAsync();
        foreach (var person in people)
        {
            db.MembershipGrants.AddRange(Enumerable.Range(0, random.Next(3)).Select(_ => Grant(person, random, shelf.Clock.GetUtcNow())));
            db.PaidMemberships.AddRange(Enumerable.Range(0, random.Next(3)).Select(_ => Paid(person, random, shelf.Clock.GetUtcNow())));
        }
        await db.SaveChangesAsync();
        var (grants, paid) = ((await db.MembershipGrants.ToListAsync()).ToLookup(g => g.PersonId), (await db.PaidMemberships.ToListAsync()).ToLookup(m => m.PersonId));
        var said = (await ReadAsync(shelf)).People.Concat((await ReadAsync(shelf, page: 2)).People).ToList();
        Assert.Equal(150, said.Count);
        Assert.All(said, line => Assert.Equal(Expected([.. grants[line.PersonId]], [.. paid[line.PersonId]], shelf.Clock.GetUtcNow()), line.State));
        Assert.Equal(Enum.GetValues<MemberState>(), said.Select(l => l.State).Distinct().Order());
        foreach (var state in Enum.GetValues<MemberState>())
        {
            var list = await ReadAsync(shelf, new(State: state));
            Assert.Equal((said.Count(l => l.State == state), list.Counts[state]), (list.Found, list.Found));
        }
    }

    private static MemberState Expected(List<MembershipGrant> grants, List<PaidMembership> paid, DateTimeOffset now)
    {
        var best = paid.Select(m => MembershipRule.StandingAt(m, now)).Append(MembershipStanding.Left).Min();
        if (best != MembershipStanding.Left)
            return Enum.Parse<MemberState>(best == MembershipStanding.Active ? "Paying" : best.ToString());
        if (grants.Exists(g => g.IsActiveAt(now)))
            return MemberState.ByHand;
        return paid.Count > 0 || grants.Exists(g => g.From <= now) ? MemberState.Left : MemberState.NoMember;
    }

    private static MembershipGrant Grant(Person person, Random random, DateTimeOffset now) => new()
    {
        PersonId = person.Id, From = now.AddDays(random.Next(-60, 10)), Until = random.Next(3) == 0 ? null : now.AddDays(random.Next(-30, 30)),
    };

    private static PaidMembership Paid(Person person, Random random, DateTimeOffset now)
    {
        var membership = new PaidMembership
        {
            PersonId = person.Id, ProviderId = $"sub_{random.NextInt64()}", CustomerId = "cus", StartedAt = now.AddDays(-random.Next(1, 90)),
            PaidThrough = random.Next(6) == 0 ? null : now.AddDays(random.Next(-12, 30)), IsPaused = random.Next(4) == 0,
            LeavesAt = random.Next(3) == 0 ? now.AddDays(random.Next(-5, 30)) : null,
        };
        membership.ActiveUntil = MembershipRule.ActiveUntil(membership, 7);
        return membership;
    }

    [Fact]
    public async Task Members_come_first_by_address_and_a_part_of_it_finds_them()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using (var db = shelf.Open())
        {
            db.Users.Add(People.New("berta@post.example", shelf.Clock.GetUtcNow()));
            await db.SaveChangesAsync();
            var grant = new GrantMembership(db, shelf.Clock);
            await grant.RunAsync("Zoe@post.example", "tins", null, null, default);
            await grant.RunAsync("anna@post.example", "", new DateOnly(2026, 11, 30), null, default);
        }
        Assert.Equal(["anna@post.example", "Zoe@post.example", "berta@post.example"], (await ReadAsync(shelf)).People.Select(p => p.Email));
        shelf.Clock.Advance(TimeSpan.FromDays(10));
        var list = await ReadAsync(shelf);
        Assert.Equal(["Zoe@post.example", "anna@post.example", "berta@post.example"], list.People.Select(p => p.Email));
        Assert.Equal([MemberState.ByHand, MemberState.Left, MemberState.NoMember], list.People.Select(p => p.State));
        Assert.Equal((1, 3), (list.ActiveMembers, list.NotSignedIn));
        Assert.Equal(["Zoe@post.example"], (await ReadAsync(shelf, new(" zOE"))).People.Select(p => p.Email));
        Assert.Equal(0, (await ReadAsync(shelf, new("%"))).Found);
    }

    [Fact]
    public async Task The_maker_the_deleted_and_the_joined_are_not_listed()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        var now = shelf.Clock.GetUtcNow();
        var wren = People.New("wren@post.example", now);
        db.Users.Add(wren);
        await db.SaveChangesAsync();
        var (maker, deleted, merged) = (People.New("maker@post.example", now), People.New("gone@post.example", now), People.New("wren@old.example", now));
        (maker.IsMaker, deleted.DeletedAt, merged.MergedIntoId) = (true, now, wren.Id);
        db.Users.AddRange(maker, deleted, merged);
        await db.SaveChangesAsync();
        var list = await ReadAsync(shelf);
        Assert.Equal("wren@post.example", Assert.Single(list.People).Email);
        Assert.Equal((1, 1), (list.Found, list.Counts.Values.Sum()));
        Assert.Single(await new ExportMembers(db, shelf.Clock).RunAsync(new(), default));
    }

    [Fact]
    public async Task A_page_past_the_end_is_the_last()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        db.Users.AddRange(Enumerable.Range(0, 205).Select(n => People.New($"p{n:000}@post.example", shelf.Clock.GetUtcNow())));
        await db.SaveChangesAsync();
        var last = await ReadAsync(shelf, page: 99);
        Assert.Equal((3, 3, 205, 5), (last.Page, last.Pages, last.Found, last.People.Count));
        Assert.Equal("p200@post.example", last.People[0].Email);
        Assert.Equal(1, (await ReadAsync(shelf, page: -4)).Page);
        Assert.Equal(205, (await new ExportMembers(db, shelf.Clock).RunAsync(new(), default)).Count);
    }
}
