using System.Diagnostics;
using System.Net;
using System.Text.RegularExpressions;
using AngleSharp.Dom;
using LibraryShelf.Core.Accounts;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Admin;

/// <summary>`shelf-admin` as the person at the server runs it: the real program, a process of its own, beside a server that is running.</summary>
public sealed partial class AdminProgramTests
{
    private const string Password = "four tins and a spoon";
    private const string NewPassword = "another spoonful of tin";

    [Fact]
    public async Task A_lost_maker_is_let_in_by_a_link_printed_at_the_server()
    {
        var clock = new FakeTimeProvider(TimeProvider.System.GetUtcNow());
        await using var host = new ShelfHost { Clock = clock };
        await host.ClaimAsync();
        await host.PersonAsync(ShelfHost.MakerEmail, isMaker: true, Password);
        var elsewhere = await host.MakerAsync();
        await elsewhere.PageAsync("/workbench");
        var her = host.Visitor();
        for (var i = 0; i < 5; i++)
            (await SignInAsync(her, "wrong wrong wrong")).Dispose();
        using (var locked = await SignInAsync(her, Password))
            Assert.Equal(HttpStatusCode.BadRequest, locked.StatusCode);

        var ran = await RunAsync(host, "recover", "Maker@Saltmarsh.example");
        Assert.True(ran.Code == 0, ran.Error);
        Assert.Contains("within 60 minutes", ran.Output, StringComparison.Ordinal);
        var link = new Uri(Link().Match(ran.Output).Value).AbsolutePath;

        clock.Advance(TimeSpan.FromSeconds(61)); // longer than a cookie goes unquestioned
        using (var ended = await elsewhere.GetAsync(new Uri("/workbench", UriKind.Relative)))
            Assert.True(ended.Headers.Location?.OriginalString.StartsWith("/workbench/sign-in", StringComparison.Ordinal) == true, FaultsInAnswers.Describe(ended));
        using (var unlocked = await SignInAsync(host.Visitor(), Password))
            Assert.Equal("/workbench", unlocked.Headers.Location?.OriginalString);

        var page = await her.PageAsync(link);
        var refused = await her.PressAndStayAsync(page, "Save it and sign in", ("Password", "elevenchars"));
        Assert.Contains("12 characters or more", refused.QuerySelector("[role=alert]")!.Words(), StringComparison.Ordinal);
        using (var saved = await her.PressAsync(page, "Save it and sign in", ("Password", NewPassword)))
            Assert.Equal("/workbench", saved.Headers.Location?.OriginalString);
        await her.PageAsync("/workbench");
        using (var again = await host.Visitor().GetAsync(new Uri(link, UriKind.Relative)))
            Assert.Equal(HttpStatusCode.Gone, again.StatusCode);
        using (var old = await SignInAsync(host.Visitor(), Password))
            Assert.Equal(HttpStatusCode.BadRequest, old.StatusCode);
        using var fresh = await SignInAsync(host.Visitor(), NewPassword);
        Assert.Equal("/workbench", fresh.Headers.Location?.OriginalString);
    }

    [Fact]
    public async Task Nobody_but_the_maker_is_recovered()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        var unclaimed = await RunAsync(host, "recover", ShelfHost.MakerEmail);
        Assert.Equal((1, true), (unclaimed.Code, unclaimed.Error.Contains("no maker yet", StringComparison.Ordinal)));
        await host.PersonAsync(ShelfHost.MakerEmail, isMaker: true, Password);
        await host.PersonAsync("dunlin@post.example");
        var member = await RunAsync(host, "recover", "dunlin@post.example");
        Assert.Equal((1, true), (member.Code, member.Error.Contains("does not sign in with dunlin@post.example", StringComparison.Ordinal)));
        Assert.False(await host.AskDbAsync(db => db.SignInTickets.AnyAsync(t => t.Purpose == SignInPurpose.RecoverMaker)));
    }

    [Fact]
    public async Task An_unclaimed_shelf_is_offered_again_and_a_claimed_one_is_not()
    {
        await using var host = new ShelfHost();
        _ = host.Services;
        var first = await RunAsync(host, "offer-claim");
        var second = await RunAsync(host, "offer-claim");
        Assert.True(second.Code == 0, second.Error);
        await host.Visitor().PageAsync(new Uri(Link().Match(second.Output).Value).AbsolutePath);
        using (var old = await host.Visitor().GetAsync(new Uri(new Uri(Link().Match(first.Output).Value).AbsolutePath, UriKind.Relative)))
            Assert.Equal(HttpStatusCode.NotFound, old.StatusCode);
        await host.PersonAsync(ShelfHost.MakerEmail, isMaker: true, Password);
        var claimed = await RunAsync(host, "offer-claim");
        Assert.Equal((1, ""), (claimed.Code, claimed.Output));
        Assert.Contains("has a maker already", claimed.Error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_rotated_key_signs_what_is_made_from_now_on()
    {
        await using var host = new ShelfHost();
        _ = host.Services;
        var ran = await RunAsync(host, "rotate-link-key");
        Assert.True(ran.Code == 0, ran.Error);
        var newest = await host.AskDbAsync(db => db.LinkKeys.Where(k => k.RetiredAt == null).MaxAsync(k => k.Id));
        Assert.Contains($"signed with key {newest}.", ran.Output, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(0, "help")]
    [InlineData(0, "--help")]
    [InlineData(2)]
    [InlineData(2, "recover")]
    [InlineData(2, "recover", "a@b.example", "more")]
    [InlineData(2, "recover", "a@b.example", "--remove-everything")]
    [InlineData(2, "sing")]
    public async Task What_it_does_not_understand_it_says_and_leaves_alone(int code, params string[] words)
    {
        var nowhere = Directory.CreateTempSubdirectory("shelf-nowhere-").FullName;
        var ran = await RunAsync(nowhere, words);
        Assert.Equal(code, ran.Code);
        Assert.Contains("recover EMAIL", code == 0 ? ran.Output : ran.Error, StringComparison.Ordinal);
        Assert.Empty(Directory.EnumerateFileSystemEntries(nowhere));
        Directory.Delete(nowhere);
    }

    [Fact]
    public async Task A_wrong_folder_is_named_and_nothing_is_made_in_it()
    {
        var nowhere = Directory.CreateTempSubdirectory("shelf-nowhere-").FullName;
        var ran = await RunAsync(nowhere, "offer-claim");
        Assert.Equal(1, ran.Code);
        Assert.Contains(nowhere, ran.Error, StringComparison.Ordinal);
        Assert.Empty(Directory.EnumerateFileSystemEntries(nowhere));
        Directory.Delete(nowhere);
    }

    private static async Task<HttpResponseMessage> SignInAsync(HttpClient client, string password) =>
        await client.PressAsync(await client.PageAsync("/workbench/sign-in"), "Sign in", ("Email", ShelfHost.MakerEmail), ("Password", password));

    private static Task<Ran> RunAsync(ShelfHost host, params string[] words) => RunAsync(
        host.DataFolder, [.. words, .. host.DatabaseSettings.Select(s => $"--{s.Name}={s.Value}")]);

    private static async Task<Ran> RunAsync(string dataFolder, params string[] words)
    {
        var start = new ProcessStartInfo("dotnet")
        {
            UseShellExecute = false, RedirectStandardOutput = true, RedirectStandardError = true, WorkingDirectory = AppContext.BaseDirectory,
        };
        foreach (var argument in (string[])[typeof(Program).Assembly.Location, "admin", .. words, $"--Shelf:DataDirectory={dataFolder}"])
            start.ArgumentList.Add(argument);
        using var program = Process.Start(start)!;
        var (output, error) = (program.StandardOutput.ReadToEndAsync(), program.StandardError.ReadToEndAsync());
        await program.WaitForExitAsync().WaitAsync(TimeSpan.FromMinutes(2));
        return new(program.ExitCode, await output, await error);
    }

    private sealed record Ran(int Code, string Output, string Error);

    [GeneratedRegex(@"http://\S+/workbench/(claim|recover)/[A-Za-z0-9_-]{43}", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Link();
}
