using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Tests.Persons;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Payments;

/// <summary>A shelf restored from a backup that was made before somebody joined, who was then deleted: the payment provider still tells of them.</summary>
public sealed class DeletedPayersTests
{
    [Fact]
    public async Task Whom_the_provider_still_knows_stays_deleted_and_what_was_paid_is_kept_without_a_name()
    {
        var (at, noted) = await JoinAndGoAsync();
        await using var restored = await PayingShelf.MakeAsync();
        restored.Provider.Begins(Told.Begun("sub_1", restored.Now, PersonsShelf.WrenEmail));
        restored.Provider.Begins(Told.Begun("sub_2", restored.Now, PersonsShelf.WrenEmail) with { CustomerId = "cus_sub_1" });
        restored.Clock.SetUtcNow(at.AddHours(1));
        foreach (var ended in new[] { "sub_1", "sub_2" })
            restored.Provider.Happens(ended, at, m => m with { EndedAt = at });
        Assert.Equal(0, await restored.AskAsync(db => new DeleteAgain(db).RunAsync(noted, default)));

        await restored.ReconcileAsync();
        await restored.ReconcileAsync();
        var person = await restored.AskAsync(db => db.Users.SingleAsync());
        Assert.Equal((null, null, (DateTimeOffset?)at, $"deleted-{person.Id}"), (person.Email, person.NormalizedEmail, person.DeletedAt, person.UserName));
        Assert.Equal([person.Id, person.Id], await restored.AskAsync(db => db.Payments.Select(p => p.PersonId).ToListAsync()));
        Assert.Equal("", await restored.MonthsAsync());
        Assert.Equal("", await restored.MailsAsync());
        // Whoever begins anew under the same name there, after they were deleted, is somebody.
        restored.Provider.Begins(Told.Begun("sub_3", restored.Now, PersonsShelf.WrenEmail) with { CustomerId = "cus_sub_1" });
        await restored.ReconcileAsync();
        Assert.Equal(PersonsShelf.WrenEmail, (await restored.AskAsync(db => db.Users.SingleAsync(p => p.DeletedAt == null))).Email);
    }

    /// <summary>The joining was under way when the backup was made.</summary>
    [Fact]
    public async Task A_joining_that_the_backup_holds_unpaid_loses_its_address_too()
    {
        var (at, noted) = await JoinAndGoAsync();
        await using var restored = await PayingShelf.MakeAsync();
        await restored.StartAsync(PersonsShelf.WrenEmail);
        restored.Provider.Begins(Told.Begun("sub_1", restored.Now, PersonsShelf.WrenEmail, joiningId: 1));
        restored.Clock.SetUtcNow(at.AddHours(1));
        await restored.AskAsync(db => new DeleteAgain(db).RunAsync(noted, default));
        await restored.ReconcileAsync();
        var joining = await restored.AskAsync(db => db.Joinings.SingleAsync());
        Assert.Equal(("", "", "deleted-1"), (joining.Email, joining.NormalizedEmail, joining.TokenHash));
        Assert.True(await restored.AskAsync(db => db.Users.AllAsync(p => p.Email == null)));
    }

    /// <summary>On the shelf that was lost. Answers when they were deleted, and what is noted of it beside the backups.</summary>
    private static async Task<(DateTimeOffset At, IReadOnlyList<(long, DateTimeOffset, string?)> Noted)> JoinAndGoAsync()
    {
        await using var lost = await PersonsShelf.MakeAsync();
        await lost.PayAsync(PersonsShelf.Wren, PersonsShelf.WrenEmail, "sub_1");
        lost.Paying.Clock.Advance(TimeSpan.FromHours(2));
        await lost.DeleteAsync(await lost.AskToDeleteAsync());
        var rows = await lost.AskAsync(db => db.Deletions.OrderBy(d => d.Payer != null).ToListAsync());
        // What sha256sum says of "cus_sub_1".
        Assert.Equal([null, "725d5e1b4dcc393ac001297aebcf5d66bdfca8f94f2b641ef7a045a0c91f28b6"], rows.Select(d => d.Payer));
        return (rows[0].At, [.. rows.Select(d => (d.PersonId, d.At, d.Payer))]);
    }
}
