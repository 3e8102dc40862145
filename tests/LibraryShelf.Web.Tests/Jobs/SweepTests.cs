using Hangfire;
using Hangfire.Common;
using Hangfire.States;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Upkeep;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Tests.Pages.Workbench;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Query;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.DependencyInjection.Extensions;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Jobs;

public sealed class SweepTests
{
    [Fact]
    public async Task Each_row_left_undone_wakes_its_job_and_done_rows_wake_none()
    {
        var woken = new WrittenDownJobs();
        await using var host = new ShelfHost { Replace = services => services.Replace(ServiceDescriptor.Singleton<IBackgroundJobClient>(woken)) };
        var id = await host.ReleaseAsync();
        await SweepAsync(host);
        Assert.Empty(woken.Names());

        await host.WithDbAsync(async db =>
        {
            var release = await db.Releases.SingleAsync();
            release.CheckAskedAt = DateTimeOffset.UnixEpoch;
            db.Archives.Add(new Archive { ReleaseId = id });
            db.Outbox.Add(new OutboxMail { Cause = "a" });
            db.Drops.Add(new Drop { Id = 5, Month = new(2026, 11), DueAt = DateTimeOffset.UnixEpoch });
            db.Drops.Add(new Drop { Id = 6, Month = new(2026, 12), DueAt = DateTimeOffset.MaxValue });
            db.DownloadEvents.Add(new DownloadEvent { DownloadId = "d", From = 0, To = 1 });
            await db.SaveChangesAsync();
        });
        await SweepAsync(host);
        await SweepAsync(host);
        string[] each = [$"CheckJob({id})", "CountJob()", "DigestJob(1)", "DropJob(5)", "MailJob()"];
        Assert.Equal(each.Concat(each).Order(), woken.Names());
    }

    [Theory]
    [InlineData(null, null, true)]
    [InlineData(0, null, true)] // tried in vain, and due again
    [InlineData(60, null, false)] // not due yet
    [InlineData(null, 0, false)] // done
    public async Task A_message_about_payments_left_undone_is_looked_at_when_it_is_due(int? dueIn, int? doneIn, bool isWoken)
    {
        var woken = new WrittenDownJobs();
        await using var host = new ShelfHost { Replace = services => services.Replace(ServiceDescriptor.Singleton<IBackgroundJobClient>(woken)) };
        var now = TimeProvider.System.GetUtcNow();
        await host.WithDbAsync(async db =>
        {
            db.PaymentEvents.Add(new PaymentEvent
            {
                ProviderId = "evt_1", ReceivedAt = now, NextTryAt = dueIn is { } due ? now.AddMinutes(due) : null, DoneAt = doneIn is { } done ? now.AddMinutes(done) : null,
            });
            await db.SaveChangesAsync();
        });
        await SweepAsync(host);
        Assert.Equal(isWoken ? ["PaymentsJob()"] : [], woken.Names());
    }

    [Fact]
    public async Task The_letter_about_a_week_is_woken_on_Monday_and_its_mail_after_it()
    {
        var woken = new WrittenDownJobs();
        var clock = new FakeTimeProvider(new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero));
        await using var host = new ShelfHost { Clock = clock, Replace = services => services.Replace(ServiceDescriptor.Singleton<IBackgroundJobClient>(woken)) };
        await host.MakerAsync();
        await SweepAsync(host);
        Assert.Empty(woken.Names());
        clock.SetUtcNow(new(2026, 11, 30, 8, 0, 0, TimeSpan.Zero));
        await SweepAsync(host);
        Assert.Equal(["WeekJob()"], woken.Names());
        await host.RunAsync(async (IServiceProvider services) =>
        {
            await ActivatorUtilities.CreateInstance<WeekJob>(services).RunAsync(default);
            return true;
        });
        Assert.Equal(["MailJob()", "WeekJob()"], woken.Names());
        Assert.Equal("week:2026-W48", await host.AskDbAsync(db => db.Outbox.Select(m => m.Cause).SingleAsync()));
    }

    /// <summary>Reading an update through takes as long as sending it; a page that offers it is no reason.</summary>
    [Fact]
    public async Task An_update_is_digested_once_somebody_fetched_it()
    {
        var woken = new WrittenDownJobs();
        await using var host = new ShelfHost { Replace = services => services.Replace(ServiceDescriptor.Singleton<IBackgroundJobClient>(woken)) };
        var id = await host.ReleaseAsync();
        await host.WithDbAsync(async db =>
        {
            db.Archives.Add(new Archive { ReleaseId = id, FromReleaseId = 7, Kind = ArchiveKind.Update });
            db.Downloads.Add(new Download { Id = "made", ArchiveId = 1, ReleaseId = id, FromReleaseId = 7 });
            db.Downloads.Add(new Download { Id = "whole", ArchiveId = 2, ReleaseId = id, StartedAt = DateTimeOffset.UnixEpoch });
            await db.SaveChangesAsync();
        });
        await SweepAsync(host);
        Assert.Empty(woken.Names());
        await host.WithDbAsync(db => db.Downloads.Where(d => d.Id == "made").ExecuteUpdateAsync(d => d.SetProperty(x => x.StartedAt, DateTimeOffset.UnixEpoch)));
        await SweepAsync(host);
        Assert.Equal(["DigestJob(1)"], woken.Names());
        // Not what its maker stopped; what she asked for after it could not be read, also if the first wake-up was lost.
        await SetAsync(s => s.SetProperty(a => a.ReadStoppedAt, DateTimeOffset.UnixEpoch));
        await SetAsync(s => s.SetProperty(a => a.ReadStoppedAt, (DateTimeOffset?)null).SetProperty(a => a.Trouble, "A stored file is gone."));
        await SetAsync(s => s.SetProperty(a => a.ReadAskedAt, DateTimeOffset.UnixEpoch), "DigestJob(1)");
        // By what an index has; "or nothing is set in both" has none, and each minute all downloads would be gone through.
        Assert.DoesNotContain("Id\" IS NULL", await host.AskDbAsync(db => Task.FromResult(SweepJob.DigestsMissing(db).ToQueryString())), StringComparison.Ordinal);

        async Task SetAsync(Action<UpdateSettersBuilder<Archive>> set, params string[] wakes)
        {
            var before = woken.Names().ToList();
            await host.WithDbAsync(db => db.Archives.ExecuteUpdateAsync(set));
            await SweepAsync(host);
            Assert.Equal(before.Concat(wakes).Order(), woken.Names());
        }
    }

    [Fact]
    public async Task A_sealed_release_that_was_to_be_published_is_woken_until_it_is()
    {
        var woken = new WrittenDownJobs();
        await using var host = new ShelfHost { Replace = services => services.Replace(ServiceDescriptor.Singleton<IBackgroundJobClient>(woken)) };
        var id = await host.ReleaseAsync();
        await host.CheckedAsync(id);
        await host.WithDbAsync(async db =>
        {
            var release = await db.Releases.SingleAsync();
            release.PublishAfterSealFor = Audience.Free;
            Assert.True(release.MoveTo(ReleaseState.Sealed, DateTimeOffset.UnixEpoch));
            await db.SaveChangesAsync();
        });
        await SweepAsync(host);
        Assert.Equal([$"SealJob({id})"], woken.Names());
    }

    [Fact]
    public async Task A_file_that_will_not_go_keeps_nothing_from_being_woken_or_cleared_and_is_named()
    {
        var woken = new WrittenDownJobs();
        await using var host = new ShelfHost { Replace = services => services.Replace(ServiceDescriptor.Singleton<IBackgroundJobClient>(woken)) };
        var id = await host.ReleaseAsync();
        var (stuck, free) = (UploadDesk.NewId(), UploadDesk.NewId());
        await host.WithDbAsync(async db =>
        {
            db.Outbox.Add(new OutboxMail { Cause = "a" });
            db.Uploads.AddRange(new[] { stuck, free }.Select((u, i) => new Upload { Id = u, ReleaseId = id, CreatedAt = DateTimeOffset.UnixEpoch.AddDays(i) }));
            await db.SaveChangesAsync();
        });
        // The system refuses to remove a folder as if it were a file, also to root.
        Directory.CreateDirectory(Path.Combine(host.DataFolder, "uploads", stuck));
        for (var minute = 0; minute < 2; minute++)
            Assert.Contains($"uploads/{stuck}.", await SweepAsync(host), StringComparison.Ordinal);
        Assert.Equal(["MailJob()", "MailJob()"], woken.Names());
        Assert.Equal([stuck], await host.AskDbAsync(db => db.Uploads.Select(u => u.Id).ToListAsync()));
        Directory.Delete(Path.Combine(host.DataFolder, "uploads", stuck));
        Assert.Null(await SweepAsync(host));
    }

    [Fact]
    public async Task An_alert_about_what_is_no_more_settles_and_others_stand()
    {
        var woken = new WrittenDownJobs();
        await using var host = new ShelfHost { Replace = services => services.Replace(ServiceDescriptor.Singleton<IBackgroundJobClient>(woken)) };
        var id = await host.ReleaseAsync();
        var zip = UploadDesk.NewId();
        await host.WithDbAsync(async db =>
        {
            db.Uploads.Add(new Upload { Id = zip, ReleaseId = id, Kind = UploadKind.Zip, CreatedAt = TimeProvider.System.GetUtcNow(), FinishedAt = TimeProvider.System.GetUtcNow() });
            await db.SaveChangesAsync();
        });
        foreach (var job in new[] { $"CheckJob({id})", $"UnpackJob({zip})", "DigestJob(77)", "CountJob()" })
            await host.RunAsync((RaiseAlert raise) => raise.RunAsync(AlertKind.JobFailed, job, "w", default));
        await SweepAsync(host);
        Assert.Equal([$"CheckJob({id})", "CountJob()", $"UnpackJob({zip})"], await StandingAsync());
        Assert.IsType<EditOutcome.Saved>(await host.RunAsync((DiscardDraft discard) => discard.RunAsync(id, default)));
        await SweepAsync(host);
        Assert.Equal(["CountJob()"], await StandingAsync());

        Task<List<string>> StandingAsync() => host.AskDbAsync(async db =>
            (await db.Alerts.Where(a => a.SettledAt == null).Select(a => a.Subject).ToListAsync()).Order(StringComparer.Ordinal).ToList());
    }

    [Fact]
    public async Task What_is_not_noted_beside_the_backups_and_a_backup_that_is_due_are_woken()
    {
        var woken = new WrittenDownJobs();
        var backups = Directory.CreateTempSubdirectory("shelf-backups-");
        await using var host = new ShelfHost { Replace = services => services.Replace(ServiceDescriptor.Singleton<IBackgroundJobClient>(woken)), Settings = { ["Shelf:Backup:Directory"] = backups.FullName } };
        Assert.IsType<BackupOutcome.Made>(await host.RunAsync<MakeBackup, BackupOutcome>(make => make.RunAsync(default)));
        await SweepAsync(host);
        Assert.Empty(woken.Names());
        await host.WithDbAsync(db =>
        {
            db.Deletions.Add(new Deletion { PersonId = 3, At = TimeProvider.System.GetUtcNow() });
            return db.SaveChangesAsync();
        });
        foreach (var backup in backups.EnumerateDirectories("2*"))
            backup.Delete(recursive: true);
        await SweepAsync(host);
        Assert.Equal(["BackupJob()", "KeepDeletionsJob()"], woken.Names());
        backups.Delete(recursive: true);
    }

    /// <summary>Any of them, here the first that asks the database.</summary>
    [Fact]
    public async Task A_look_that_breaks_keeps_no_other_from_being_taken()
    {
        var woken = new WrittenDownJobs();
        await using var host = new ShelfHost { Replace = services => services.Replace(ServiceDescriptor.Singleton<IBackgroundJobClient>(woken)) };
        await host.WithDbAsync(async db =>
        {
            db.Outbox.Add(new OutboxMail { Cause = "a" });
            await db.SaveChangesAsync();
            await db.Database.ExecuteSqlRawAsync("ALTER TABLE \"Uploads\" RENAME TO \"UploadsAway\"");
        });
        await Assert.ThrowsAsync<AggregateException>(() => SweepAsync(host));
        Assert.Equal(["MailJob()"], woken.Names());
    }

    [Fact]
    public async Task A_crash_before_the_job_ran_is_made_good_at_the_next_start()
    {
        await using var host = new ShelfHost { RunJobs = true, Replace = LeaveWish };
        _ = host.Server;
        // The wish was written before the job server started; nobody woke the job but the sweep.
        // Digest and publishing are two jobs, and either may be the later one.
        await UntilAsync(async () => await host.AskDbAsync<bool>(db => db.Archives.AnyAsync(a => a.Sha256 != null)));
        await UntilAsync(async () => await host.AskDbAsync<bool>(db => db.Releases.AllAsync(r => r.State == ReleaseState.Published)));
    }

    private static void LeaveWish(IServiceCollection services) => services.Insert(0, ServiceDescriptor.Singleton<Microsoft.Extensions.Hosting.IHostedService, LeftWish>());

    private static Task<string?> SweepAsync(ShelfHost host) => host.RunAsync((IServiceProvider services) =>
        ActivatorUtilities.CreateInstance<SweepJob>(services).RunAsync(CancellationToken.None));

    private static async Task UntilAsync(Func<Task<bool>> isTrue)
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(30));
        while (!await isTrue())
            await Task.Delay(50, patience.Token);
    }

    /// <summary>Runs before the job server, as if an earlier process had written its rows and died.</summary>
    private sealed class LeftWish(IServiceProvider services) : Microsoft.Extensions.Hosting.IHostedService
    {
        public async Task StartAsync(CancellationToken cancellationToken)
        {
            await using var scope = services.CreateAsyncScope();
            var db = scope.ServiceProvider.GetRequiredService<Core.Data.ShelfDb>();
            var blobs = scope.ServiceProvider.GetRequiredService<Core.Storage.IBlobStore>();
            using var bytes = new MemoryStream("abc"u8.ToArray());
            var stored = await blobs.PutAsync(bytes, cancellationToken);
            db.Blobs.Add(new Core.Storage.Blob { Sha256 = stored.Sha256, Size = stored.Size, Crc32 = stored.Crc32 });
            var library = new Library { Slug = "kettle", Title = "Kettle", DeclaredAt = DateTimeOffset.UnixEpoch };
            var release = new Release { Number = "1.0.0", LicenceSpdx = "CC0-1.0", SealAskedAt = DateTimeOffset.UnixEpoch, PublishAfterSealFor = Audience.Free };
            release.Players.Add(new ReleasePlayer { Name = "Pondskater", LowestVersion = "2" });
            release.Files.Add(new Core.Intake.ReleaseFile { Path = "a.wav", Sha256 = stored.Sha256, Size = stored.Size });
            release.MoveTo(ReleaseState.Checked, DateTimeOffset.UnixEpoch);
            library.Releases.Add(release);
            db.Libraries.Add(library);
            await db.SaveChangesAsync(cancellationToken);
        }

        public Task StopAsync(CancellationToken cancellationToken) => Task.CompletedTask;
    }

    private sealed class WrittenDownJobs : IBackgroundJobClient
    {
        private readonly List<string> names = [];

        public IEnumerable<string> Names() => names.Where(n => n is not ("SweepJob()" or "WatchJob()" or "ReadAgainJob()" or "ReconcileJob()" or "ForgetJob()")).Order();

        public string Create(Job job, IState state)
        {
            names.Add($"{job.Type.Name}({string.Join(',', job.Args.Where(a => a is string or long))})");
            return "1";
        }

        public bool ChangeState(string jobId, IState state, string expectedState) => true;
    }
}
