using LibraryShelf.Campaigns.Tests.Running;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Sealing;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Campaigns.Tests.Kills;

/// <summary>
/// A month's drop goes out to 2,000 members, with its mails. Each is killed five times: the first time while it is sent, from when its job has begun, then while
/// its mails go out; after the fifth they go on to the last. Everybody has one right and one mail; with each kill at most the mail in flight comes twice, with the
/// same Message-ID.
/// </summary>
internal sealed class DropSent(TrialShelf shelf, MailTaker mails) : KilledStep(shelf, "Drop Box")
{
    private const int Members = 2_000, KillsOfOne = 5;
    /// <summary>So many times as long as the sending, of which each kill's delay is a share, are the mails that the later points of one drop are spread over.</summary>
    private const double Spread = 15;

    private YearMonth month = new(2020, 1);
    private long first, drop;
    private int members, doubled, point;

    /// <summary>Only the first of its kills is at the sending itself.</summary>
    public override double Stretch => IsFirst ? 1 : Spread;

    private bool IsFirst => point == 0 || point % KillsOfOne == 1;

    private bool IsLast => point > 0 && point % KillsOfOne == 0;

    public override async Task SetUpAsync()
    {
        await base.SetUpAsync();
        first = await Maker.StartReleaseAsync(Slug);
        await Maker.FillAsync(first, MakeFolder(Slug, 77_000, 40_000, 40_000), asChecked: true);
        await Maker.PublishAsync(first);
        // What is free is everybody's whether the drop went out or not, and would say nothing.
        await using (var db = Shelf.Open())
            Assert.True(await new DecideAudience(db, TimeProvider.System).RunAsync(Slug, Audience.Members, CancellationToken.None) == DecideAudienceOutcome.Decided);
        await AddMembersAsync();
    }

    public override async Task MakeReadyAsync(int point)
    {
        this.point = point;
        if (!IsFirst)
            return;
        // Of the drop that was measured not all mails are waited for.
        await using (var db = Shelf.Open())
            await db.Outbox.Where(m => m.SentAt == null).ExecuteUpdateAsync(s => s.SetProperty(m => m.GaveUpAt, m => m.CreatedAt));
        mails.Forget();
        doubled = 0;
        month = month.PlusMonths(1);
        drop = await PlanAsync();
    }

    /// <summary>The hour comes, the sweep finds it (that of the next minute is not waited for), and the job that sends it says that it has begun.</summary>
    public override async Task OpenAsync()
    {
        if (!IsFirst)
            return;
        var before = TimeProvider.System.GetUtcNow();
        await using (var db = Shelf.Open())
            await db.Drops.Where(d => d.Id == drop).ExecuteUpdateAsync(s => s.SetProperty(d => d.DueAt, d => d.CreatedAt));
        await Maker.PressAsync("/workbench/jobs", "Run", ("job", "SweepJob"));
        await Waiting.UntilAsync("the drop's job has begun", () => AskAsync(db => db.JobRuns.AnyAsync(r => r.Name == "DropJob" && r.StartedAt >= before)));
    }

    /// <summary>It is under way.</summary>
    public override Task BeginAsync() => Task.CompletedTask;

    public override Task<bool> IsOverAsync() => AskAsync(db => db.Drops.AnyAsync(d => d.Id == drop && d.State == DropState.Sent));

    /// <summary>All or nothing of it: of the rows, and of the rights.</summary>
    public override async Task LookAsync(ShelfDb db)
    {
        var state = await db.Drops.Where(d => d.Id == drop).Select(d => d.State).SingleAsync();
        var release = await db.DropReleases.Where(r => r.DropId == drop).Join(db.Releases, r => r.ReleaseId, r => r.Id, (_, r) => r).SingleAsync();
        var rows = await db.Outbox.CountAsync(m => m.AboutId == drop);
        var stands = (state, release.State, release.DropMonths.Length > 0, rows);
        Assert.True(stands == (DropState.Planned, ReleaseState.Scheduled, false, 0) || stands == (DropState.Sent, ReleaseState.Published, true, members), $"half a drop: {stands}");
        Assert.True(rows > 0 || Mine() == 0, "a mail of a drop that is not out");
        var may = await MayHaveAsync(db, release.Id);
        Assert.True(may == (state == DropState.Sent ? members : 0), $"{may} people may have what is {state}");
        // The shelf's own answer, to one of them.
        var one = await db.MembershipGrants.OrderBy(g => g.Id).Skip(point * 37 % members).Select(g => g.PersonId).FirstAsync();
        Assert.Equal(state == DropState.Sent, MayDownload.IsYes(await new ReadRights(db, TimeProvider.System).RunAsync(release.Id, one, CancellationToken.None)));
    }

    /// <summary>Who may have a version, counted in one question and by nobody's rule but this: it is out, for members, and they are members.</summary>
    private static Task<int> MayHaveAsync(ShelfDb db, long release)
    {
        var now = TimeProvider.System.GetUtcNow();
        return db.MembershipGrants.Where(g => g.From <= now && (g.Until == null || g.Until > now)).Select(g => g.PersonId).Distinct()
            .CountAsync(_ => db.Releases.Any(r => r.Id == release && r.State == ReleaseState.Published && r.PublishedAt <= now
                && db.AudienceDecisions.Where(a => a.LibraryId == r.LibraryId && a.DecidedAt <= now).OrderByDescending(a => a.DecidedAt).ThenByDescending(a => a.Id).Select(a => a.Audience).First() == Audience.Members));
    }

    public override async Task GoOnAsync()
    {
        // What was in flight is taken to be somebody's for five minutes; they pass here at once.
        await using (var db = Shelf.Open())
            await db.Outbox.Where(m => m.SentAt == null && m.NextTryAt > m.CreatedAt).ExecuteUpdateAsync(s => s.SetProperty(m => m.NextTryAt, (DateTimeOffset?)null));
        await Waiting.UntilAsync("the drop is out", () => AskAsync(db => db.Drops.AnyAsync(d => d.Id == drop && d.State == DropState.Sent)));
        var before = Mine();
        await Waiting.UntilAsync("its mails go on", () => Task.FromResult(Mine() > before || Mine() == members));
        if (IsLast)
        {
            // The database is not asked all the while: two cores have enough to do.
            var come = -1;
            await Waiting.UntilAsync("every mail has come", async () =>
            {
                if (Mine() == members)
                    return true;
                // A machine with too much to do answers a mail too late now and then: that one waits its five minutes, which pass here at once when nothing else goes.
                if (come == Mine())
                    await PassPutBackAsync();
                come = Mine();
                return false;
            }, TimeSpan.FromSeconds(2), LeftAsync);
            await Waiting.UntilAsync("every mail is sent", () => AskAsync(async db => !await db.Outbox.AnyAsync(m => m.AboutId == drop && m.SentAt == null)));
        }
        await HoldAsync();
    }

    private async Task PassPutBackAsync()
    {
        await using var db = Shelf.Open();
        await db.Outbox.Where(m => m.AboutId == drop && m.SentAt == null && m.LastError != null && m.NextTryAt != null).ExecuteUpdateAsync(s => s.SetProperty(m => m.NextTryAt, (DateTimeOffset?)null));
    }

    /// <summary>For whoever reads why it was in vain.</summary>
    private async Task<string> LeftAsync()
    {
        await using var db = Shelf.Open();
        var left = await db.Outbox.Where(m => m.AboutId == drop && m.SentAt == null).OrderBy(m => m.Id).Select(m => new { m.Id, m.Attempts, m.NextTryAt, m.LastError, m.GaveUpAt }).ToListAsync();
        return $"{Mine()} of {members} came, {left.Count} are not sent, the first of them {string.Join("; ", left.Take(3))}";
    }

    private async Task HoldAsync()
    {
        var mine = mails.Taken.Where(m => IsMine(m.Key.MessageId)).ToList();
        Assert.True(mine.Count == mine.DistinctBy(m => m.Key.To).Count(), "somebody got two mails that are not the same");
        var twice = mails.Taken.Values.Sum(times => times - 1);
        Assert.True(twice - doubled <= 1, $"{twice - doubled} mails came twice by one kill");
        doubled = twice;
        if (!IsLast)
            return;
        Assert.Equal(members, mine.Count);
        Assert.Equal(members, await AskAsync(db => db.Outbox.CountAsync(m => m.AboutId == drop && m.SentAt != null)));
    }

    private bool IsMine(string messageId) => messageId.StartsWith($"<drop.{drop}.", StringComparison.Ordinal);

    private int Mine() => mails.Taken.Keys.Count(m => IsMine(m.MessageId));

    /// <summary>Straight into the file, as the list of members that is there when the drop is due.</summary>
    private async Task AddMembersAsync()
    {
        await using var db = Shelf.Open();
        var now = TimeProvider.System.GetUtcNow();
        var people = Enumerable.Range(0, Members).Select(n => $"wren{n}@post.example").Select(e => new Person
        {
            Email = e, NormalizedEmail = e.ToUpperInvariant(), UserName = e, NormalizedUserName = e.ToUpperInvariant(), SecurityStamp = "campaign", CreatedAt = now,
        }).ToList();
        db.Users.AddRange(people);
        await db.SaveChangesAsync();
        db.MembershipGrants.AddRange(people.Select(p => new MembershipGrant { PersonId = p.Id, From = now }));
        await db.SaveChangesAsync();
        members = people.Count;
    }

    /// <summary>The next version of the box, sealed: the same folder, so that it is a matter of rows.</summary>
    private async Task<long> PlanAsync()
    {
        await using var db = Shelf.Open();
        var now = TimeProvider.System.GetUtcNow();
        var release = new Release { LibraryId = await db.Releases.Where(r => r.Id == first).Select(r => r.LibraryId).SingleAsync(), Number = $"1.0.{point + 1}", LicenceSpdx = "CC0-1.0", CreatedAt = now };
        foreach (var file in await db.ReleaseFiles.AsNoTracking().Where(f => f.ReleaseId == first).ToListAsync())
            release.Files.Add(new() { Path = file.Path, Sha256 = file.Sha256, Size = file.Size });
        foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Scheduled })
            Assert.True(release.MoveTo(state, now));
        db.Releases.Add(release);
        await db.SaveChangesAsync();
        var archive = await db.Archives.AsNoTracking().SingleAsync(a => a.ReleaseId == first && a.Kind == ArchiveKind.Full);
        (archive.Id, archive.ReleaseId) = (0, release.Id);
        db.Archives.Add(archive);
        var planned = new Drop { Month = month, Title = "Salt and reeds", DueAt = now.AddDays(30), CreatedAt = now };
        db.Drops.Add(planned);
        await db.SaveChangesAsync();
        db.DropReleases.Add(new DropRelease { DropId = planned.Id, ReleaseId = release.Id });
        await db.SaveChangesAsync();
        return planned.Id;
    }
}
