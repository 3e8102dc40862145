using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Publishing;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Core.Storage;
using LibraryShelf.Core.Upkeep;
using Microsoft.AspNetCore.DataProtection.EntityFrameworkCore;
using Microsoft.AspNetCore.Identity.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore;
using NodaTime;

namespace LibraryShelf.Core.Data;

/// <summary>
/// Everything the shelf remembers. Tables stand under the step that owns their rows; where a release moves on, the step that
/// moves it (check, seal, publish) writes that move through <see cref="Release.MoveTo"/>. The tables of accounts and of data
/// protection are ASP.NET's, the one exemption to "Core knows no ASP.NET".
/// </summary>
public sealed class ShelfDb(DbContextOptions<ShelfDb> options)
    : IdentityUserContext<Person, long>(options), IDataProtectionKeyContext
{
    /// <summary>
    /// What is written next is about money: it is on the disk once committed, also when the power goes. Costs a wait for the disk, so the
    /// rest does without on SQLite (PostgreSQL always waits).
    /// </summary>
    public bool IsMoney { get; set; }

    /// <summary>
    /// What is read and written next lies all over the database, as when downloads are counted: SQLite then keeps more of its pages in memory, and PostgreSQL
    /// goes by its indexes. Makes no other difference.
    /// </summary>
    public bool IsWide { get; set; }

    // Accounts
    public DbSet<SignInTicket> SignInTickets => Set<SignInTicket>();
    public DbSet<Device> Devices => Set<Device>();
    public DbSet<AddressChange> AddressChanges => Set<AddressChange>();
    public DbSet<UploadToken> UploadTokens => Set<UploadToken>();
    public DbSet<Deletion> Deletions => Set<Deletion>();
    public DbSet<DataProtectionKey> DataProtectionKeys => Set<DataProtectionKey>();

    // Catalog
    public DbSet<Shop> Shops => Set<Shop>();
    public DbSet<Library> Libraries => Set<Library>();
    public DbSet<AudienceDecision> AudienceDecisions => Set<AudienceDecision>();
    public DbSet<Release> Releases => Set<Release>();

    // Storage, Intake
    public DbSet<Blob> Blobs => Set<Blob>();
    public DbSet<ReleaseFile> ReleaseFiles => Set<ReleaseFile>();
    public DbSet<BlobClaim> BlobClaims => Set<BlobClaim>();
    public DbSet<Upload> Uploads => Set<Upload>();

    // Checking
    public DbSet<Measurement> Measurements => Set<Measurement>();
    public DbSet<SheetEntry> SheetEntries => Set<SheetEntry>();
    public DbSet<ReleaseSheet> ReleaseSheets => Set<ReleaseSheet>();

    // Comparing
    public DbSet<ReleaseComparison> ReleaseComparisons => Set<ReleaseComparison>();

    // Sealing
    public DbSet<Archive> Archives => Set<Archive>();
    public DbSet<PossibleUpdate> PossibleUpdates => Set<PossibleUpdate>();
    public DbSet<SealedKeyprint> SealedKeyprints => Set<SealedKeyprint>();
    public DbSet<ReleaseListening> Listenings => Set<ReleaseListening>();
    public DbSet<ListeningFile> ListeningFiles => Set<ListeningFile>();
    public DbSet<LibraryMusic> LibraryMusic => Set<LibraryMusic>();

    // Membership
    public DbSet<EarlyGuest> EarlyGuests => Set<EarlyGuest>();
    public DbSet<MembershipGrant> MembershipGrants => Set<MembershipGrant>();
    public DbSet<Plan> Plans => Set<Plan>();
    public DbSet<PaidMembership> PaidMemberships => Set<PaidMembership>();
    public DbSet<PaidMonth> PaidMonths => Set<PaidMonth>();
    public DbSet<MemberImport> MemberImports => Set<MemberImport>();
    public DbSet<ImportedMember> ImportedMembers => Set<ImportedMember>();

    // Payments
    public DbSet<Joining> Joinings => Set<Joining>();
    public DbSet<LeaveTicket> LeaveTickets => Set<LeaveTicket>();
    public DbSet<Payment> Payments => Set<Payment>();
    public DbSet<PaymentEvent> PaymentEvents => Set<PaymentEvent>();
    public DbSet<FailedRenewal> FailedRenewals => Set<FailedRenewal>();
    public DbSet<PriceChange> PriceChanges => Set<PriceChange>();
    public DbSet<PriceChangeLine> PriceChangeLines => Set<PriceChangeLine>();
    public DbSet<MonthCredit> MonthCredits => Set<MonthCredit>();
    public DbSet<MonthCreditLine> MonthCreditLines => Set<MonthCreditLine>();

    // Mail
    public DbSet<OutboxMail> Outbox => Set<OutboxMail>();
    public DbSet<MailRefusal> MailRefusals => Set<MailRefusal>();
    public DbSet<MailSuppression> MailSuppressions => Set<MailSuppression>();
    public DbSet<MailHold> MailHolds => Set<MailHold>();

    // Drops
    public DbSet<Drop> Drops => Set<Drop>();
    public DbSet<DropRelease> DropReleases => Set<DropRelease>();
    public DbSet<ClockMark> ClockMarks => Set<ClockMark>();

    // Letters
    public DbSet<Follower> Followers => Set<Follower>();
    public DbSet<BehindLetter> BehindLetters => Set<BehindLetter>();

    // Any step that works long
    public DbSet<WorkProgress> WorkProgress => Set<WorkProgress>();

    // Upkeep
    public DbSet<JobRun> JobRuns => Set<JobRun>();

    // Publishing
    public DbSet<WithdrawalNotice> WithdrawalNotices => Set<WithdrawalNotice>();

    // Faults
    public DbSet<FaultReport> FaultReports => Set<FaultReport>();

    // Alerts
    public DbSet<Alert> Alerts => Set<Alert>();

    // Downloads
    public DbSet<LinkKey> LinkKeys => Set<LinkKey>();
    public DbSet<Download> Downloads => Set<Download>();
    public DbSet<DownloadEvent> DownloadEvents => Set<DownloadEvent>();

    // Statistics
    public DbSet<DownloadTally> DownloadTallies => Set<DownloadTally>();
    public DbSet<DayCount> DayCounts => Set<DayCount>();
    public DbSet<DaySum> DaySums => Set<DaySum>();
    public DbSet<MonthCount> MonthCounts => Set<MonthCount>();
    public DbSet<DayPeople> DayPeople => Set<DayPeople>();
    public DbSet<DayRoll> DayRolls => Set<DayRoll>();
    public DbSet<KeptVisitors> KeptVisitors => Set<KeptVisitors>();
    public DbSet<PersonVersion> PersonVersions => Set<PersonVersion>();
    public DbSet<VersionMove> VersionMoves => Set<VersionMove>();
    public DbSet<VersionMark> VersionMarks => Set<VersionMark>();
    public DbSet<VersionRoll> VersionRolls => Set<VersionRoll>();
    public DbSet<KeptCount> KeptCounts => Set<KeptCount>();
    public DbSet<PersonFirst> PersonFirsts => Set<PersonFirst>();
    public DbSet<MonthIncome> MonthIncomes => Set<MonthIncome>();
    public DbSet<DropUptake> DropUptakes => Set<DropUptake>();
    public DbSet<MonthPeople> MonthPeople => Set<MonthPeople>();
    public DbSet<Sighting> Sightings => Set<Sighting>();
    public DbSet<MonthSighting> MonthSightings => Set<MonthSighting>();

    protected override void OnModelCreating(ModelBuilder builder)
    {
        base.OnModelCreating(builder);
        builder.ApplyConfigurationsFromAssembly(typeof(ShelfDb).Assembly);
    }

    protected override void ConfigureConventions(ModelConfigurationBuilder configurationBuilder)
    {
        configurationBuilder.Properties<DateTimeOffset>().HaveConversion<UnixMilliseconds>();
        configurationBuilder.Properties<LocalDate>().HaveConversion<DayText>();
        configurationBuilder.Properties<YearMonth>().HaveConversion<MonthText>();
    }
}
