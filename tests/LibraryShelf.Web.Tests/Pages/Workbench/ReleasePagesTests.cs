using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Data;
using AngleSharp.Dom;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class ReleasePagesTests
{
    // WCAG 2.2, 2.4.2 Page Titled: a title says which page this is.
    [Fact]
    public async Task Each_page_of_a_release_has_its_own_title()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        foreach (var (page, title) in new[] { ("", "folder"), ("/sheet", "check sheet"), ("/changes", "what changed"), ("/words", "words"), ("/seal", "seal") })
        {
            var shown = await maker.PageAsync($"/workbench/releases/{id}{page}");
            Assert.StartsWith($"{shown.QuerySelector("h1")!.Words()}, {title} · ", shown.Title, StringComparison.Ordinal);
        }
    }

    [Fact]
    public async Task The_folder_says_what_is_here_and_what_is_on_its_way_and_checks_only_when_all_is_here()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        await host.FileAsync(id, "kettle.sfz", "<region>");
        await host.FileAsync(id, "Samples/a.wav", "abc", isHere: false);
        var page = await maker.PageAsync($"/workbench/releases/{id}");
        Assert.Contains("1 file (3 bytes) still on the way.", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Equal(["Samples/a.wav", "kettle.sfz"], page.QuerySelectorAll("tbody th").Select(th => th.Words()));
        Assert.True(Button(page, "Check the folder").HasAttribute("disabled"));

        await host.FileAsync(id, "Samples/b.wav", "abc");
        page = await maker.PageAsync($"/workbench/releases/{id}");
        var sheet = await maker.PressAndFollowAsync(page, "Check the folder");
        Assert.NotNull(sheet.QuerySelector("progress"));
        Assert.NotNull(await host.AskDbAsync<DateTimeOffset?>(db => db.Releases.Select(r => r.CheckAskedAt).SingleAsync()));
    }

    [Fact]
    public async Task A_folder_that_was_checked_meanwhile_leads_to_its_sheet_and_one_under_check_says_so()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        await host.FileAsync(id, "a.wav", "a.wav");
        var page = await maker.PageAsync($"/workbench/releases/{id}");
        await host.CheckedAsync(id);
        var sheet = await maker.PressAndFollowAsync(page, "Check the folder");
        Assert.Contains("is checked already", sheet.Body!.Words(), StringComparison.Ordinal);
        Assert.NotNull(sheet.QuerySelector(".tally"));

        await host.WithDbAsync(db => db.Releases.ExecuteUpdateAsync(r => r
            .SetProperty(x => x.State, ReleaseState.Draft).SetProperty(x => x.CheckAskedAt, DateTimeOffset.UnixEpoch)));
        page = await maker.PageAsync($"/workbench/releases/{id}");
        Assert.NotNull(page.QuerySelector("[data-far=checking]"));
        Assert.Contains("refresh", page.QuerySelector("head noscript")!.InnerHtml, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_check_under_way_says_how_far_it_is_and_refreshes_without_script()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        await host.WithDbAsync(db => db.Releases.ExecuteUpdateAsync(r => r
            .SetProperty(x => x.CheckAskedAt, DateTimeOffset.UnixEpoch).SetProperty(x => x.CheckDone, 232).SetProperty(x => x.CheckTotal, 378)));
        var page = await maker.PageAsync($"/workbench/releases/{id}/sheet");
        Assert.Contains("232 of 378 recordings measured. You may close this page", page.Body!.Words(), StringComparison.Ordinal);
        Assert.Equal(("232", "378"), (page.QuerySelector("progress")!.GetAttribute("value"), page.QuerySelector("progress")!.GetAttribute("max")));
        Assert.Contains("refresh", page.QuerySelector("head noscript")!.InnerHtml, StringComparison.Ordinal);

        page = await maker.PressAndFollowAsync(page, "Stop the check");
        Assert.Contains("You stopped the check of 1.0.0. 232 of 378 recordings are measured, and that is kept", page.QuerySelector(".stopped")!.Words(), StringComparison.Ordinal);
        Assert.NotNull(Button(page, "Check the folder"));
        Assert.Null(page.QuerySelector("[data-far], .notice.must-fix[role=status]"));
        Assert.Contains("Not checked", (await maker.PageAsync($"/workbench/releases/{id}/sheet")).QuerySelector(".empty")!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_unpacking_says_how_far_it_is_in_files_and_bytes_and_can_be_stopped()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        var upload = UploadDesk.NewId();
        await host.WithDbAsync(db =>
        {
            db.Uploads.Add(new Upload { Id = upload, ReleaseId = id, Kind = UploadKind.Zip, Path = "kettle.zip", FinishedAt = DateTimeOffset.UnixEpoch });
            return db.SaveChangesAsync();
        });
        var page = await maker.PageAsync($"/workbench/releases/{id}");
        Assert.Equal("The zip has arrived and is being unpacked. You may close this page.", page.QuerySelector("[data-far=unpacking]")!.Words());
        await host.WithDbAsync(db =>
        {
            db.WorkProgress.Add(new WorkProgress { Name = $"unpack:{upload}", Done = 12, Total = 40, DoneBytes = 300_000_000, TotalBytes = 1_200_000_000 });
            return db.SaveChangesAsync();
        });
        foreach (var address in new[] { $"/workbench/releases/{id}/sheet", $"/workbench/releases/{id}" })
        {
            page = await maker.PageAsync(address);
            Assert.Contains("12 of 40 files, 300 MB of 1.2 GB. You may close this page.", page.QuerySelector("[data-far=unpacking]")!.Words(), StringComparison.Ordinal);
            Assert.Equal(("300000000", "1200000000"), (page.QuerySelector("progress[aria-label]:not([data-part])")!.GetAttribute("value"), page.QuerySelector("progress[aria-label]:not([data-part])")!.GetAttribute("max")));
            Assert.Contains("refresh", page.QuerySelector("head noscript")!.InnerHtml, StringComparison.Ordinal);
            Assert.NotNull(page.QuerySelector("[role=status][data-far-spoken]"));
        }
        Assert.Null(page.QuerySelectorAll("button").FirstOrDefault(b => b.Words() == "Check the folder"));

        page = await maker.PressAndFollowAsync(page, "Stop, and keep the draft as it was");
        Assert.Contains("You stopped the unpacking of kettle.zip at 12 of 40 files. The draft is as it was", page.QuerySelector(".stopped")!.Words(), StringComparison.Ordinal);
        Assert.Null(page.QuerySelector("[data-far], .notice.must-fix[role=status]"));
        // On the other pages of the release it leads to where she goes on.
        Assert.Equal($"/workbench/releases/{id}", (await maker.PageAsync($"/workbench/releases/{id}/sheet")).QuerySelector(".stopped a")!.GetAttribute("href"));
        // What goes wrong afterwards is trouble again.
        await host.WithDbAsync(db => db.Releases.ExecuteUpdateAsync(r => r.SetProperty(x => x.Trouble, "kettle.zip was not unpacked.")));
        page = await maker.PageAsync($"/workbench/releases/{id}");
        Assert.Equal(("kettle.zip was not unpacked.", null), (page.QuerySelector(".notice.must-fix[role=status]")!.Words(), page.QuerySelector(".stopped")));
    }

    [Fact]
    public async Task The_sheet_counts_worst_first_and_an_excuse_wants_a_reason()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        foreach (var path in new[] { "a.wav", "b.wav", "c.wav", "kettle.sfz" })
            await host.FileAsync(id, path, path);
        await host.CheckedAsync(id, (Severity.ListenAgain, "b.wav", "Quiet."), (Severity.ListenAgain, "kettle.sfz", "A mapping is no recording."), (Severity.MustFix, "a.wav", "Clipped."));
        var page = await maker.PageAsync($"/workbench/releases/{id}/sheet");
        Assert.Equal(["1 must fix", "2 listen again", "391 fine"], page.QuerySelectorAll(".tally > span").Select(s => s.Words()));
        Assert.Equal(["kettle.sfz", "a.wav", "b.wav", "The other recording Show all"], page.QuerySelectorAll("tbody th").Select(th => th.Words()));

        page = await maker.PressAndStayAsync(page, "Excuse a.wav", ("reason", " "));
        Assert.Contains("Write a reason", page.QuerySelector("[role=alert]")!.Words(), StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(page, "Excuse a.wav", ("reason", "The kettle rattles."));
        Assert.Equal(["0 must fix", "2 listen again", "391 fine", "1 excused"], page.QuerySelectorAll(".tally > span").Select(s => s.Words()));
        Assert.Contains("“The kettle rattles.”", page.Body!.Words(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Words_are_kept_and_a_wrong_player_comes_back_as_typed()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        var page = await maker.PageAsync($"/workbench/releases/{id}/words");
        page = await maker.PressAndStayAsync(page, "Save the words", ("Notes", "First <jars>."), ("Players[0].Name", "Pondskater"), ("Players[0].LowestVersion", "two"));
        Assert.Equal("First <jars>.", page.GetElementById("notes")!.TextContent);
        Assert.Equal("two", page.GetElementById("players-0-lowestversion")!.GetAttribute("value"));
        Assert.Contains("such as 2.3 or 5", page.GetElementById("players-0-lowestversion-error")!.Words(), StringComparison.Ordinal);

        page = await maker.PressAndFollowAsync(page, "Save and add another player",
            ("Players[0].LowestVersion", "2.3"), ("Licence", "Spdx"), ("LicenceSpdx", "CC-BY-5.0"));
        Assert.Contains("not one the shelf knows", page.Body!.Words(), StringComparison.Ordinal);
        page = await maker.PressAndFollowAsync(page, "Save the words", ("Players[1].Name", "Rushlight"), ("Players[1].LowestVersion", "5"));
        var release = await host.AskDbAsync<Release>(db => db.Releases.Include(r => r.Players).SingleAsync());
        Assert.Equal(("First <jars>.", "CC-BY-5.0"), (release.Notes, release.LicenceSpdx));
        Assert.Equal(["Pondskater 2.3", "Rushlight 5"], release.Players.OrderBy(p => p.Order).Select(p => $"{p.Name} {p.LowestVersion}"));

        page = await maker.PressAndFollowAsync(page, "Renumber", ("number", "1.0.0-rc.1"));
        Assert.Equal("Mended Kettle 1.0.0-rc.1", page.QuerySelector("h1")!.Words());
    }

    [Fact]
    public async Task A_chosen_licence_must_be_said()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        var page = await maker.PageAsync($"/workbench/releases/{id}/words");
        page = await maker.PressAndStayAsync(page, "Save the words", ("Notes", "Kept."), ("Licence", "Own"));
        Assert.NotNull(page.GetElementById("licencetext-error"));
        Assert.True(page.QuerySelector("input[name=Licence][value=Own]")!.HasAttribute("checked"));
        Assert.Equal("Kept.", page.GetElementById("notes")!.TextContent);

        var tooLong = new string('x', InShort.MaxLength + 1);
        page = await maker.PressAndStayAsync(page, "Save the words", ("LicenceText", "Sing."), ("LicenceInShort", tooLong));
        Assert.Contains("Nothing was saved yet. What you typed is kept below.", page.QuerySelector("[role=alert]")!.Words(), StringComparison.Ordinal);
        Assert.Equal(($"The licence in short has {InShort.MaxLength + 1} characters; {InShort.MaxLength} is the most. Shorten it by 1.", tooLong, "Sing."),
            (page.GetElementById("licenceinshort-error")!.Words(), page.GetElementById("licenceinshort")!.TextContent, page.GetElementById("licencetext")!.TextContent));
        page = await maker.PressAndFollowAsync(page, "Save the words", ("LicenceInShort", "You may <sing>."));
        Assert.Equal("You may <sing>.", page.GetElementById("licenceinshort")!.TextContent);
        page = await maker.PressAndFollowAsync(page, "Save the words", ("LicenceText", "Hum."));
        Assert.Contains("read whether it still fits", page.QuerySelector(".notice.listen-again[role=status]")!.Words(), StringComparison.Ordinal);
        // Beside another licence there is nothing for it to say.
        await maker.PressAndFollowAsync(page, "Save the words", ("Licence", "Shop"));
        Assert.Equal(("", ""), await host.AskDbAsync(db => db.Releases.Select(r => new ValueTuple<string, string>(r.LicenceText, r.LicenceInShort)).SingleAsync()));
    }

    [Fact]
    public async Task Discarding_takes_the_draft_and_leaves_the_library()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var id = await host.ReleaseAsync();
        await host.FileAsync(id, "a.wav", "a");
        await host.CheckedAsync(id, (Severity.MustFix, "a.wav", "Clipped."));
        var page = await maker.PageAsync($"/workbench/releases/{id}");
        page = await maker.PressAndFollowAsync(page, "Discard 1.0.0 for good");
        Assert.Equal("Mended Kettle", page.QuerySelector("h1")!.Words());
        await host.WithDbAsync(async db => Assert.Equal((0, 0, 0, 1),
            (await db.Releases.CountAsync(), await db.ReleaseFiles.CountAsync(), await db.SheetEntries.CountAsync(), await db.Blobs.CountAsync())));
    }

    internal static IElement Button(IDocument page, string words) => page.QuerySelectorAll("button").Single(b => b.Words() == words);
}
