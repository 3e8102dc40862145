using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Tests.Payments;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Persons;

/// <summary>A shelf that takes payments, on which people can be given a row in each table that may name somebody.</summary>
internal sealed class PersonsShelf : IAsyncDisposable
{
    /// <summary>Numbers nothing else in a fresh database has, so that they are found wherever they stand.</summary>
    public const long Wren = 7_000_001, Robin = 8_000_002;

    public const string WrenEmail = "Wren.Tidal@post.example", RobinEmail = "robin@post.example";

    private PersonsShelf(PayingShelf paying) => Paying = paying;

    public PayingShelf Paying { get; }

    public long ReleaseId { get; private set; }

    public static async Task<PersonsShelf> MakeAsync()
    {
        var shelf = new PersonsShelf(await PayingShelf.MakeAsync());
        await using var db = shelf.Paying.Open();
        var library = new Library { Slug = "kettles", Title = "Kettles", CreatedAt = shelf.Paying.Now, Month = new(2026, 11) };
        library.Releases.Add(new Release { Number = "1.0.0", CreatedAt = shelf.Paying.Now });
        db.Libraries.Add(library);
        db.Users.AddRange(Known(Wren, WrenEmail, shelf.Paying.Now), Known(Robin, RobinEmail, shelf.Paying.Now));
        await db.SaveChangesAsync();
        shelf.ReleaseId = library.Releases[0].Id;
        return shelf;
    }

    public Task<T> AskAsync<T>(Func<ShelfDb, Task<T>> ask) => Paying.AskAsync(ask);

    /// <summary>A row in each table that may name a person, except those that only payments make.</summary>
    public async Task FillAsync(long id, string email)
    {
        await using var db = Paying.Open();
        var (now, mark) = (Paying.Now, id == Wren ? "one" : "other");
        var import = new MemberImport { Source = "The fair", Consent = "News", FileHash = $"list-{mark}", ImportedAt = now };
        var grant = new MembershipGrant { PersonId = id, From = now.AddDays(-3), Note = "helped" };
        var change = new AddressChange { PersonId = id, OldEmail = email, NewEmail = $"new.{email}", NormalizedNewEmail = EmailAddress.Normalize($"new.{email}"), OldTokenHash = $"hash-p-{mark}", NewTokenHash = $"hash-q-{mark}", AskedAt = now, ExpiresAt = now.AddDays(1) };
        db.AddRange(import, grant, change);
        await db.SaveChangesAsync();
        db.AddRange(
            new ImportedMember { ImportId = import.Id, PersonId = id, Consent = "ticked", GrantId = grant.Id },
            new EarlyGuest { ReleaseId = ReleaseId, PersonId = id, AddedAt = now },
            new WithdrawalNotice { ReleaseId = ReleaseId, PersonId = id, ToldAt = now },
            new FaultReport { LibraryId = 1, ReleaseId = ReleaseId, PersonId = id, Words = "It hums.", ReportedAt = now },
            new Download { Id = mark, ReleaseId = ReleaseId, LibraryId = 1, PersonId = id, Why = MayDownloadWhy.Free, MadeAt = now, StartBy = now.AddHours(1), FinishBy = now.AddDays(1), StartedAt = now },
            new PersonVersion { PersonId = id, LibraryId = 1, ReleaseId = ReleaseId, Since = now, Day = new(2026, 11, 25) },
            new VersionMark { PersonId = id },
            new PersonFirst { PersonId = id, FreeAt = now.AddDays(-20) },
            new Device { PersonId = id, Words = "Firefox on Linux", SignedInAt = now, SeenAt = now },
            new AddressChange { PersonId = id, OldEmail = $"old.{email}", NewEmail = email, NormalizedNewEmail = EmailAddress.Normalize(email), OldTokenHash = $"hash-o-{mark}", NewTokenHash = $"hash-n-{mark}", AskedAt = now, OldSaidYesAt = now, NewSaidYesAt = now, EndedAt = now },
            new OutboxMail { Cause = $"address:{change.Id}:new", To = $"new.{email}", Subject = "Your address?", SentAt = now, CreatedAt = now },
            new SignInTicket { Purpose = SignInPurpose.SignIn, Email = email, NormalizedEmail = EmailAddress.Normalize(email), TokenHash = $"hash-t-{mark}", CodeHash = $"hash-c-{mark}", CreatedAt = now, ExpiresAt = now.AddHours(1) },
            new OutboxMail { Cause = $"withdrawn:{ReleaseId}:{id}", To = email.ToLowerInvariant(), Subject = "Kettles was withdrawn", SentAt = now, CreatedAt = now },
            new OutboxMail { Cause = $"early:{ReleaseId}:{id}", To = $"old.{email}", Subject = "Early", GaveUpAt = now, CreatedAt = now },
            new OutboxMail { Cause = $"welcome:{grant.Id}", To = email, Subject = "Welcome", Text = "Sign in.", CreatedAt = now },
            new OutboxMail { Cause = $"version:{ReleaseId}:{id}", PersonId = id, AboutId = ReleaseId, CreatedAt = now },
            new MailRefusal { PersonId = id, Kind = MailKind.Drop, At = now },
            new MailSuppression { NormalizedEmail = EmailAddress.Normalize(email), Because = "550 5.1.1", At = now },
            new Follower { LibraryId = 1, Email = email, NormalizedEmail = EmailAddress.Normalize(email), Key = $"key-{mark}", AskedAt = now, ConfirmedAt = now },
            new Alert { Kind = AlertKind.MailNotSent, Subject = $"{email[..4]}", Words = $"A mail could not be sent: to {email}.", RaisedAt = now, LastSeenAt = now, Times = 1 },
            new IdentityUserPasskey<long> { UserId = id, CredentialId = BitConverter.GetBytes(id), Data = new() { Name = "Phone", CreatedAt = now, PublicKey = [1], AttestationObject = [2], ClientDataJson = [3], Transports = [] } },
            new IdentityUserClaim<long> { UserId = id, ClaimType = "a", ClaimValue = "b" },
            new IdentityUserLogin<long> { UserId = id, LoginProvider = "a", ProviderKey = email },
            new IdentityUserToken<long> { UserId = id, LoginProvider = "a", Name = "b", Value = "c" });
        await db.SaveChangesAsync();
    }

    /// <summary>Pays, and has been told of another price and credited for a month.</summary>
    public async Task PayAsync(long id, string email, string membership)
    {
        await Paying.FinishAsync(await Paying.PayAsync(email, id, membership));
        await using var db = Paying.Open();
        var paid = await db.PaidMemberships.SingleAsync(m => m.ProviderId == membership);
        var credit = await db.MonthCredits.SingleOrDefaultAsync() ?? new MonthCredit { Month = new(2026, 11), Reason = "Ill.", DecidedAt = Paying.Now };
        var change = new PriceChange { FromPlanId = Paying.PlanId, ToPlanId = Paying.PlanId, From = Paying.Now, AnnouncedAt = Paying.Now };
        db.UpdateRange(credit, change);
        await db.SaveChangesAsync();
        db.AddRange(
            new MonthCreditLine { MonthCreditId = credit.Id, PersonId = id, PaidMembershipId = paid.Id, PaymentId = $"in_{membership}_0", Minor = 900, Currency = "EUR" },
            new FailedRenewal { PaidMembershipId = paid.Id, Since = Paying.Now.AddDays(-1), RecoveredAt = Paying.Now },
            new PriceChangeLine { PriceChangeId = change.Id, PaidMembershipId = paid.Id, ToldAt = Paying.Now });
        await db.SaveChangesAsync();
    }

    /// <summary>Asks to be deleted; answers the mailed link's token.</summary>
    public async Task<string> AskToDeleteAsync(long id = Wren)
    {
        Assert.Equal(AskToDeleteOutcome.MailOnItsWay, await AskAsync(db => new AskToDelete(db, Paying.Clock).RunAsync(id, PayingShelf.Address, default)));
        var text = await Paying.TextAsync("delete-me:");
        return text.Split("/delete/")[1][..43];
    }

    public Task<DeleteOutcome> DeleteAsync(string token) => AskAsync(db => new DeletePerson(
        db, Paying.Provider, new LookAgain(db, Paying.Provider, Paying.Clock, Paying.Settings), Paying.Clock, Paying.Settings).RunAsync(token, default));

    public Task<MergeOutcome> MergeAsync(string stays = WrenEmail, string joins = RobinEmail) =>
        AskAsync(db => new MergePeople(db, Paying.Clock).RunAsync(stays, joins, default));

    public Task<int> SweepAsync() => AskAsync(db => new SweepDeleted(db, Paying.Clock, Paying.Settings).RunAsync(default));

    public Task<MyData?> DataAsync(long id) => AskAsync(db => new ReadMyData(db, Paying.Clock).RunAsync(id, default));

    /// <summary>"Table.Column" of every value in the database that is one of these words, or holds one (whatever its case), sorted.</summary>
    public async Task<string[]> WhereAsync(params string[] words)
    {
        await using var db = Paying.Open();
        var found = new SortedSet<string>(StringComparer.Ordinal);
        foreach (var type in db.Model.GetEntityTypes().Where(t => !t.IsOwned() && t.GetTableName() is not null))
        {
            var set = (IQueryable<object>)typeof(DbContext).GetMethod(nameof(DbContext.Set), [])!.MakeGenericMethod(type.ClrType).Invoke(db, [])!;
            foreach (var row in await set.ToListAsync())
            foreach (var property in type.GetProperties())
            {
                var text = Convert.ToString(db.Entry(row).Property(property).CurrentValue, System.Globalization.CultureInfo.InvariantCulture) ?? "";
                if (Array.Exists(words, w => text.Contains(w, StringComparison.OrdinalIgnoreCase)))
                    found.Add($"{type.GetTableName()}.{property.Name}");
            }
        }
        return [.. found];
    }

    public ValueTask DisposeAsync() => Paying.DisposeAsync();

    private static Person Known(long id, string email, DateTimeOffset now)
    {
        var person = People.New(email, now.AddDays(-30));
        (person.Id, person.EmailConfirmed, person.VisitedAt) = (id, true, now);
        return person;
    }
}
