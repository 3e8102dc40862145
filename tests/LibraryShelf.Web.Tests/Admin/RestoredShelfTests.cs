using System.Diagnostics;
using System.Net;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Drops;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Storage;
using LibraryShelf.Core.Tests;
using LibraryShelf.Core.Upkeep;
using LibraryShelf.Web.Tests.Endpoints;
using LibraryShelf.Web.Tests.Pages.Workbench;
using Microsoft.AspNetCore.Server.Kestrel.Core;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Admin;

/// <summary>A whole shelf, backed up, lost, and made again by the real command, in a folder that was empty.</summary>
[Trait("Database", "sqlite")]
public sealed class RestoredShelfTests : IDisposable
{
    private const string Wren = "wren@post.example", Dunlin = "dunlin@post.example";

    private readonly DirectoryInfo root = Directory.CreateTempSubdirectory("shelf-restored-");

    private string Backups => root.CreateSubdirectory("backups").FullName;

    public void Dispose() => root.Delete(recursive: true);

    [Fact]
    public async Task It_serves_the_same_bytes_and_is_quiet_until_the_maker_says_that_it_is_the_one_shelf()
    {
        var (whole, oldLink, oldCookie, releaseId, dropId) = await LoseAShelfAsync();

        var clock = new FakeTimeProvider(TimeProvider.System.GetUtcNow().AddDays(3));
        var folder = Path.Combine(root.FullName, "data");
        using var database = new TestDatabase(new DataPaths(folder).Database);
        await using var host = new ShelfHost { Clock = clock, Database = database, Settings = { ["Shelf:DataDirectory"] = folder } };
        var (code, words) = await RestoreAsync(folder);
        Assert.True(code == 0, words);
        // A real socket: a link is signed as it goes over the wire.
        host.UseKestrel(k => k.Listen(IPAddress.Loopback, 0));
        host.StartServer();
        Assert.Contains("1 person who had themselves deleted since was deleted again", words, StringComparison.Ordinal);
        Assert.Contains("1 upload token was revoked", words, StringComparison.Ordinal);
        Assert.Equal("/workbench/sign-in", await WhereAsync(host, oldCookie));

        using (var old = await host.Visitor().GetAsync(new Uri(oldLink, UriKind.Relative)))
            Assert.True((int)old.StatusCode >= 400, $"The old link answers {old.StatusCode}.");
        var made = Assert.IsType<MakeLinkOutcome.Made>(await host.RunAsync<MakeLink, MakeLinkOutcome>(make => make.RunAsync(releaseId, null, null, default)));
        Assert.Equal(whole, await host.Visitor().GetByteArrayAsync(new Uri(made.Path, UriKind.Relative)));
        Assert.Equal([ShelfHost.MakerEmail, Wren], await host.AskDbAsync(db => db.Users.Select(p => p.Email!).OrderBy(e => e).ToListAsync()));

        Assert.Equal(0, await SendMailsAsync(host));
        Assert.IsType<SendDropOutcome.Held>(await SendDropAsync(host, dropId));
        var maker = await host.MakerAsync();
        var page = await maker.PageAsync("/workbench");
        var held = page.QuerySelector("section[aria-labelledby=held]")!.Words();
        Assert.Contains("One mail that waited when the backup was made is sent", held, StringComparison.Ordinal);
        Assert.Contains("“Salt and reeds”, goes out", held, StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(page, "Go on and send it");
        Assert.Null(page.QuerySelector("section[aria-labelledby=held]"));
        Assert.Equal(1, await SendMailsAsync(host));
        Assert.IsType<SendDropOutcome.Sent>(await SendDropAsync(host, dropId));
    }

    [Fact]
    public async Task A_trial_says_so_stays_quiet_and_leaves_the_backups_alone()
    {
        await LoseAShelfAsync();
        var folder = Path.Combine(root.FullName, "trial");
        using var database = new TestDatabase(new DataPaths(folder).Database);
        await using var host = new ShelfHost { Database = database, Settings = { ["Shelf:DataDirectory"] = folder, ["Shelf:Backup:Directory"] = Backups } };
        var (code, words) = await RestoreAsync(folder, "--trial");
        Assert.True(code == 0, words);
        Assert.Contains("It is a trial", words, StringComparison.Ordinal);
        var before = Directory.GetFileSystemEntries(Backups, "*", SearchOption.AllDirectories);
        var page = await (await host.MakerAsync()).PageAsync("/workbench");
        var held = page.QuerySelector("section[aria-labelledby=held]")!;
        Assert.Contains("only tries a backup", held.Words(), StringComparison.Ordinal);
        Assert.Null(held.QuerySelector("button"));
        Assert.IsType<BackupOutcome.Off>(await host.RunAsync<MakeBackup, BackupOutcome>(make => make.RunAsync(default)));
        Assert.Equal(EndHoldOutcome.IsTrial, await host.RunAsync<EndHold, EndHoldOutcome>(end => end.RunAsync(true, default)));
        Assert.Equal(0, await SendMailsAsync(host));
        Assert.Equal(before, Directory.GetFileSystemEntries(Backups, "*", SearchOption.AllDirectories));
    }

    /// <summary>A box on the shelf, a member, somebody who is deleted after the backup, a mail that waits and a drop due tomorrow. Nothing of it is left but the backups.</summary>
    private async Task<(byte[] Whole, string Link, Cookie Maker, long ReleaseId, long DropId)> LoseAShelfAsync()
    {
        await using var stocked = await StockedHost.MakeAsync(new Dictionary<string, string> { ["Shelf:Backup:Directory"] = Backups }, 5_000, 70_000);
        var (host, now) = (stocked.Host, TimeProvider.System.GetUtcNow());
        stocked.Clock.SetUtcNow(now);
        var cookie = await host.SignInCookieAsync(await host.PersonAsync(ShelfHost.MakerEmail, isMaker: true));
        await host.ClaimAsync();
        Assert.Equal("/workbench", await WhereAsync(host, cookie));
        var (wren, dunlin) = (await host.PersonAsync(Wren), await host.PersonAsync(Dunlin));
        var dropId = await host.AskDbAsync(async db =>
        {
            foreach (var file in new DirectoryInfo(Path.Combine(host.DataFolder, "blobs")).EnumerateFiles("*", SearchOption.AllDirectories))
                db.Blobs.Add(new Blob { Sha256 = file.Name, Size = file.Length, StoredAt = now });
            db.UploadTokens.Add(new UploadToken { Name = "studio", TokenHash = "t", CreatedAt = now });
            db.MembershipGrants.Add(new MembershipGrant { PersonId = wren.Id, From = now });
            db.Outbox.Add(new OutboxMail { Cause = "welcome:1", To = Wren, Subject = "Welcome", Text = "Welcome.", CreatedAt = now });
            var library = new Library { Slug = "marimba", Title = "Marimba", CreatedAt = now, DeclaredAt = now };
            var release = new Release { Number = "1.0.0", CreatedAt = now };
            foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Scheduled })
                Assert.True(release.MoveTo(state, now));
            library.Releases.Add(release);
            var drop = new Drop { Month = new(2026, 12), Title = "Salt and reeds", DueAt = now.AddDays(1), CreatedAt = now };
            db.AddRange(library, drop);
            await db.SaveChangesAsync();
            db.DropReleases.Add(new DropRelease { DropId = drop.Id, ReleaseId = release.Id });
            await db.SaveChangesAsync();
            return drop.Id;
        });
        var link = (await stocked.LinkAsync()).Path;
        Assert.IsType<BackupOutcome.Made>(await host.RunAsync<MakeBackup, BackupOutcome>(make => make.RunAsync(default)));

        stocked.Clock.Advance(TimeSpan.FromMinutes(1));
        await host.RunAsync<AskToDelete, AskToDeleteOutcome>(ask => ask.RunAsync(dunlin.Id, "https://shelf.example", default));
        var mail = await host.AskDbAsync(db => db.Outbox.SingleAsync(m => m.Cause.StartsWith("delete-me:")));
        Assert.IsType<DeleteOutcome.Deleted>(await host.RunAsync<DeletePerson, DeleteOutcome>(delete => delete.RunAsync(mail.Text.Split("/delete/")[1][..43], default)));
        Assert.Null(await host.RunAsync<KeepDeletions, string?>(keep => keep.RunAsync(default)));
        return (stocked.Whole, link, cookie, stocked.ReleaseId, dropId);
    }

    private static async Task<int> SendMailsAsync(ShelfHost host) => (await host.RunAsync<SendOutbox, OutboxRound>(send => send.RunAsync(default))).Sent;

    private static Task<SendDropOutcome> SendDropAsync(ShelfHost host, long dropId) => host.RunAsync<SendDrop, SendDropOutcome>(send => send.RunAsync(dropId, null, default));

    /// <summary>Where a browser with this cookie finds itself that asks for the workbench.</summary>
    private static async Task<string> WhereAsync(ShelfHost host, Cookie cookie)
    {
        using var browser = new HttpClient(host.Address.IsDefaultPort ? host.Server.CreateHandler() : new SocketsHttpHandler { AllowAutoRedirect = false, UseCookies = false }) { BaseAddress = host.Address };
        using var asked = new HttpRequestMessage(HttpMethod.Get, "/workbench");
        asked.Headers.Add("Cookie", $"{cookie.Name}={cookie.Value}");
        using var answer = await browser.SendAsync(asked);
        return answer.StatusCode == HttpStatusCode.OK ? "/workbench" : new Uri(host.Address, answer.Headers.Location!).AbsolutePath;
    }

    private async Task<(int Code, string Words)> RestoreAsync(string into, params string[] flags)
    {
        var start = new ProcessStartInfo("dotnet") { UseShellExecute = false, RedirectStandardOutput = true, RedirectStandardError = true, WorkingDirectory = AppContext.BaseDirectory };
        foreach (var argument in (string[])[typeof(Program).Assembly.Location, "admin", "restore", $"--Shelf:DataDirectory={into}", $"--Shelf:Backup:Directory={Backups}", .. flags])
            start.ArgumentList.Add(argument);
        using var program = Process.Start(start)!;
        var (output, error) = (program.StandardOutput.ReadToEndAsync(), program.StandardError.ReadToEndAsync());
        await program.WaitForExitAsync().WaitAsync(TimeSpan.FromMinutes(2));
        return (program.ExitCode, await output + await error);
    }
}
