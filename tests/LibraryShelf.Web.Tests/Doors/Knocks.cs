using System.IO.Compression;
using AngleSharp.Dom;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Membership;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Web.Tests.Endpoints;
using LibraryShelf.Web.Tests.Pages.Members;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>For each row of the table a knock that would succeed for whoever may, each time at something fresh.</summary>
internal sealed class Knocks(DoorWorld world)
{
    private readonly MoneyThings money = new(world);
    private readonly DropThings drops = new(world);
    private readonly PersonThings persons = new(world);
    private readonly LetterThings letters = new(world);

    private ShelfHost Host => world.Host;

    /// <summary>How to knock at this row's door; a plain address without parameters needs no entry of its own.</summary>
    public async Task<Knock> ForAsync(DoorRow row) => row.Name switch
    {
        "POST /boxes/{slug} (free)" => Download(row, $"/boxes/{world.Free.Slug}", world.Free.ReleaseId),
        "POST /boxes/{slug} (for members)" => Download(row, $"/boxes/{world.ForMembers.Slug}", world.ForMembers.ReleaseId),
        "POST /boxes/{slug} (sealed, not published)" => Download(row, $"/boxes/{world.Free.Slug}", await world.SealedAsync()),
        "POST /boxes/{slug} (a draft)" => Download(row, $"/boxes/{world.Free.Slug}", await world.DraftAsync()),
        "POST /mine (free)" => Download(row, "/mine", world.Free.ReleaseId),
        "POST /mine (for members)" => Download(row, "/mine", world.ForMembers.ReleaseId),
        "POST /mine?handler=Month (for members)" => Plain(row) with { Fields = [new("month", await drops.OutAsync())] },
        "POST /mine?handler=CloseLink (the member's)" => Plain(row) with { Fields = [new("id", (await DownloadAsync(DoorWorld.MemberEmail)).Id)] },
        "POST /mine?handler=EndDevice (the member's)" => Plain(row) with { Fields = [new("id", $"{await DevicesAsync()}")] },
        "POST /mine?handler=EndOthers" => await DevicesAsync() is > 0 ? Plain(row) with { Fields = [] } : throw new InvalidOperationException("Nobody has a device."),
        "POST /mine/address" => Plain(row) with { Fields = [new("Email", Stranger())] },
        _ when row.Path.StartsWith("/address/{token}", StringComparison.Ordinal) =>
            Plain(row, ("{token}", row.Case == "with the mailed link" ? await AddressTokenAsync() : Altered(await AddressTokenAsync()))) with { Fields = row.IsLook ? null : [] },
        "POST /boxes/{slug} (given early)" => await EarlyDownloadAsync(row),
        "POST /mine (given early)" => Download(row, "/mine", (await world.EarlyAsync()).ReleaseId),
        "GET /boxes/{slug} (given early)" => Plain(row, ("{slug}", (await world.EarlyAsync()).Slug)),
        "GET /boxes/{slug} (on the shelf)" or "GET /boxes/{slug}/something-wrong" => Plain(row, ("{slug}", world.Free.Slug)),
        "GET /boxes/{slug}/which-version" or "GET /boxes/{slug}/versions.json" or "GET /boxes/{slug}/feed.atom" or "HEAD /boxes/{slug}/feed.atom" => Plain(row, ("{slug}", world.ForMembers.Slug)),
        "POST /boxes/{slug}/something-wrong (free)" => Tell(world.Free),
        "POST /boxes/{slug}/something-wrong (for members)" => Tell(world.ForMembers),
        "POST /boxes/{slug}/something-wrong (given early)" => Tell(await world.EarlyAsync()),
        "GET /boxes/{slug}/{number}/licence (on the shelf)" => Plain(row, ("{slug}", world.Free.Slug), ("{number}", "1.0.0")),
        "GET /boxes/{slug}/{number}/licence (given early)" => Plain(row, ("{slug}", (await world.EarlyAsync()).Slug), ("{number}", "1.0.0")),
        _ when KeyprintThings.Knows(row) || ListenThings.Knows(row) => await (ListenThings.Knows(row) ? ListenThings.ForAsync(world, row) : KeyprintThings.ForAsync(world, row)),
        "GET /trouble/{code:int}" => Plain(row, ("{code:int}", "418")) with { Answers = 418 },
        "POST /trouble/{code:int}" => Plain(row, ("{code:int}", "418")) with { Answers = 418, Fields = [] },
        // Whoever knocks is told that the signature is missing; what a signed message does, PaymentEndpointsTests say.
        "POST /hooks/payments (not signed)" => Plain(row) with { Fields = [], Answers = 400 },
        // No plan is offered: joining is closed for everybody.
        "POST /join (closed)" => Plain(row) with { Fields = [new("Email", Stranger())], Answers = 400 },
        // Whom it signs in once it is paid, Practice/JoiningTests say.
        "GET /join/done/{token} (by the way back)" => Plain(row, ("{token}", await money.JoiningTokenAsync())),
        "GET /join/done/{token} (with an altered link)" => Plain(row, ("{token}", "altered")),
        "GET /leave/{token?} (with the mailed link)" => Plain(row, ("{token?}", await money.LeaveTokenAsync())),
        "GET /leave/{token?} (nothing to leave)" => Plain(row, ("/{token?}", "")),
        "POST /leave/{token?} (with an altered link)" => Plain(row, ("{token?}", "altered")) with { Fields = [] },
        "POST /leave/{token?} (with the mailed link)" or "POST /leave/{token?}?handler=Stay (with the mailed link)" => Plain(row, ("{token?}", await money.LeaveTokenAsync())) with { Fields = [] },
        // Nothing was paid for it, so there is nothing to return.
        "POST /leave/{token?}?handler=Withdraw (with the mailed link)" => Plain(row, ("{token?}", await money.LeaveTokenAsync())) with { Fields = [], Answers = 409 },
        "POST /mine/delete" => Plain(row) with { Fields = [] },
        _ when row.Path == "/delete/{token}" => Plain(row, ("{token}", row.Case == "with the mailed link" ? await persons.DeleteTokenAsync() : Altered(await persons.DeleteTokenAsync()))) with { Fields = row.IsLook ? null : [] },
        "POST /sign-in" => await VisitorFormAsync("/sign-in", "Send me the mail", ("Email", Stranger())),
        "POST /sign-in/code" => await CodeAsync(),
        "GET /sign-in/{token} (with the mailed link)" => Plain(row, ("/sign-in/{token}", (await MailAsync()).Link)),
        "GET /sign-in/{token} (with an altered link)" => Plain(row, ("/sign-in/{token}", Altered((await MailAsync()).Link))),
        "POST /sign-in/{token} (with the mailed link)" => await VisitorFormAsync((await MailAsync()).Link, "Sign in"),
        "POST /sign-in/{token} (with an altered link)" => new(row.Method, Altered((await MailAsync()).Link)) { Fields = [] },
        "POST /sign-out" => await VisitorFormAsync("/sign-out", "Sign out") with { ChangesNothing = true },
        "POST /workbench?handler=PutAway" => await PutAwayAsync(),
        _ when VersionThings.Knows(row) => await VersionThings.ForAsync(world, row),
        _ when UpkeepThings.Knows(row) => await UpkeepThings.ForAsync(Host, row),
        "POST /workbench/sign-in" => await VisitorFormAsync("/workbench/sign-in", "Sign in", ("Email", ShelfHost.MakerEmail), ("Password", DoorWorld.Password)) with { ChangesNothing = true },
        "GET /workbench/claim/{token} (with the printed link)" => Plain(row, ("{token}", await ClaimTokenAsync())),
        "GET /workbench/claim/{token} (with an altered link)" => Plain(row, ("{token}", Altered(await ClaimTokenAsync()))),
        "POST /workbench/claim/{token} (of a claimed shelf)" => await VisitorFormAsync("/workbench/claim/" + await ClaimTokenAsync(), "Claim the shelf",
            ("Email", Stranger()), ("Password", DoorWorld.Password), ("Shop.Name", "Taken"), ("Shop.Contact", "taken@post.example")),
        // A real one takes a browser: PasskeyTests adds, uses and removes it there. Here her door is reached and proves nothing.
        "POST /workbench/sign-in?handler=Passkey (without one)" => new(row.Method, row.Path) { Fields = [new("credential", "{}")] },
        "POST /workbench/shop?handler=Passkey (without one)" => new(row.Method, row.Path) { Fields = [new("credential", "{}")], Answers = 400 },
        "POST /workbench/sign-in?handler=PasskeyChallenge" or "POST /workbench/shop?handler=PasskeyChallenge" => Plain(row) with { Fields = [], ChangesNothing = true },
        "POST /workbench/shop?handler=RemovePasskey" => Plain(row) with { Fields = [new("id", await PasskeyAsync())] },
        "GET /workbench/recover/{token} (with the printed link)" => Plain(row, ("{token}", await RecoveryTokenAsync())),
        "GET /workbench/recover/{token} (with an altered link)" => Plain(row, ("{token}", Altered(await RecoveryTokenAsync()))),
        "POST /workbench/recover/{token} (with the printed link)" =>
            await VisitorFormAsync("/workbench/recover/" + await RecoveryTokenAsync(), "Save it and sign in", ("Password", DoorWorld.Password)),
        "POST /workbench/recover/{token} (with an altered link)" =>
            Plain(row, ("{token}", Altered(await RecoveryTokenAsync()))) with { Fields = [new("Password", DoorWorld.Password)] },
        _ when row.Path is "/get/{**link}" or "/wait/{**link}" => new(row.Method,
            row.Path[..row.Path.IndexOf('/', 1)] + (row.Case == "altered" ? Altered(await world.LinkAsync()) : await world.LinkAsync())["/get".Length..]),
        _ when LongThings.Knows(row) || LetterThings.Knows(row) => await (LongThings.Knows(row) ? LongThings.ForAsync(world, row) : letters.ForAsync(row)),
        _ when row.Path.Contains("/drops", StringComparison.Ordinal) && row.Endpoint != "GET /workbench/drops" => await drops.ForAsync(row),
        _ when row.Path.StartsWith("/workbench/", StringComparison.Ordinal) => await AtTheWorkbenchAsync(row),
        _ when row.Path.StartsWith("/api", StringComparison.Ordinal) || row.Path.StartsWith("/uploads", StringComparison.Ordinal) => await OfASenderAsync(row),
        _ => Plain(row),
    };

    private async Task<Knock> AtTheWorkbenchAsync(DoorRow row) => row.Endpoint switch
    {
        "POST /workbench/membership?handler=Offer" => await MakerFormAsync("/workbench/membership", "Offer it", ("Price", $"{world.Next()}")),
        "POST /workbench/membership?handler=Close" => Plain(row) with { Fields = [new("id", $"{await money.PlanAsync()}")] },
        "POST /workbench/membership?handler=Terms" => await MakerFormAsync("/workbench/membership", "Keep", ("TermsVersion", $"{world.Next()}")),
        "POST /workbench/numbers/downloads?handler=Price" => await MakerFormAsync("/workbench/numbers/downloads", "Keep it", ("price", $"0.{world.Next()}")),
        "POST /workbench/membership/prices" => Plain(row) with { Fields = await money.PricesAsync() },
        "POST /workbench/membership/prices?handler=Look" => Plain(row) with { Fields = await money.PricesAsync(), ChangesNothing = true },
        "POST /workbench/membership/prices?handler=CallOff" => Plain(row) with { Fields = [new("id", $"{await money.PriceChangeAsync()}")] },
        "POST /workbench/membership/credit" => Plain(row) with { Fields = [new("Month", await money.PaidMonthAsync()), new("Reason", "The kiln broke.")] },
        "POST /workbench/membership/credit?handler=Look" => Plain(row) with { Fields = [new("Month", await money.PaidMonthAsync()), new("Reason", "The kiln broke.")], ChangesNothing = true },
        "POST /workbench/libraries/new" => await MakerFormAsync("/workbench/libraries/new", "Add the library", ("Title", $"Tin {world.Next()}"), ("Sound", "struck")),
        "GET /workbench/libraries/{slug}" or "GET /workbench/libraries/{slug}/limits" or "GET /workbench/libraries/{slug}/faults" => Plain(row, ("{slug}", world.Free.Slug)),
        "POST /workbench/libraries/{slug}/limits" => await MakerFormAsync($"/workbench/libraries/{await world.LibraryAsync()}/limits", "Save the limits", ("longestLeadInMs", "30")),
        "POST /workbench/libraries/{slug}?handler=Start" => await MakerFormAsync($"/workbench/libraries/{await world.LibraryAsync()}", "Start the version", ("number", "1.0.0")),
        "POST /workbench/libraries/{slug}?handler=Decide" => await MakerFormAsync($"/workbench/libraries/{await world.LibraryAsync()}", "Decide", ("audience", "Members")),
        "POST /workbench/libraries/{slug}?handler=Words" => await MakerFormAsync($"/workbench/libraries/{await world.LibraryAsync()}", "Save the words", ("Title", $"Tin {world.Next()}")),
        "POST /workbench/releases/{id:long}?handler=Check" => await MakerFormAsync($"/workbench/releases/{await world.DraftAsync()}", "Check the folder"),
        "POST /workbench/releases/{id:long}?handler=Discard" => await MakerFormAsync($"/workbench/releases/{await world.DraftAsync()}", "Discard 1.0.0 for good"),
        "POST /workbench/releases/{id:long}/zip" => new(row.Method, $"/workbench/releases/{await world.DraftAsync()}/zip") { Zip = await ZipAsync() },
        "POST /workbench/releases/{id:long}/sheet?handler=Excuse" => await MakerFormAsync(
            $"/workbench/releases/{await world.ReadyAsync((Severity.MustFix, "a.wav", "Clipped."))}/sheet", "Excuse a.wav", ("reason", "It rattles.")),
        "POST /workbench/releases/{id:long}/sheet?handler=Judge" => await MakerFormAsync($"/workbench/releases/{await world.ReadyAsync()}/sheet", "Judge again"),
        "GET /workbench/releases/{id:long}/sheet.csv" or "GET /workbench/releases/{id:long}/sheet.json" => Plain(row, ("{id:long}", $"{await world.ReadyAsync()}")),
        "GET /workbench/releases/{id:long}/changes.json" => Plain(row, ("{id:long}", $"{(await world.ComparedAsync()).Id}")),
        "POST /workbench/releases/{id:long}/changes?handler=Compare" => await ComparedAsync(row),
        "POST /workbench/releases/{id:long}/changes?handler=Take" => await MakerFormAsync($"/workbench/releases/{(await world.ComparedAsync()).Id}/changes", "Take them into the words"),
        "POST /workbench/releases/{id:long}/changes?handler=Number" => await MakerFormAsync($"/workbench/releases/{(await world.ComparedAsync()).Id}/changes", "Make it 1.1.0"),
        "GET /workbench/releases/{id:long}/recordings/{sha256}" => await RecordingAsync(row),
        "POST /workbench/releases/{id:long}/words" => await MakerFormAsync($"/workbench/releases/{await world.DraftAsync()}/words", "Save the words", ("Notes", "First.")),
        "POST /workbench/releases/{id:long}/words?handler=Number" => await MakerFormAsync($"/workbench/releases/{await world.DraftAsync()}/words", "Renumber", ("number", "1.1.0")),
        "POST /workbench/releases/{id:long}/seal?handler=Seal" => await MakerFormAsync($"/workbench/releases/{await world.ReadyAsync()}/seal", "Seal 1.0.0"),
        "POST /workbench/releases/{id:long}/seal?handler=SealAndPublish" => await MakerFormAsync($"/workbench/releases/{await world.ReadyAsync()}/seal", "Seal and publish 1.0.0", ("declares", "true")),
        "POST /workbench/releases/{id:long}/seal?handler=Publish" => await MakerFormAsync($"/workbench/releases/{await world.SealedAsync()}/seal", "Publish 1.0.0", ("declares", "true")),
        "POST /workbench/releases/{id:long}/seal?handler=Early" => await MakerFormAsync(
            $"/workbench/releases/{await world.SealedAsync()}/seal", "Give it to them", ("addresses", Stranger()), ("declares", "true")),
        "POST /workbench/releases/{id:long}/seal?handler=RemoveGuest" => await MakerFormAsync(
            $"/workbench/releases/{(await world.EarlyAsync()).ReleaseId}/seal", $"Take it from them: {DoorWorld.LeftEmail}"),
        "POST /workbench/releases/{id:long}/withdraw" => await MakerFormAsync(
            $"/workbench/releases/{(await world.EarlyAsync()).ReleaseId}/withdraw", "Withdraw 1.0.0 now", ("reason", "It hums.")),
        "POST /workbench/libraries/{slug}/faults?handler=Mended" => await FaultAsync(row, isInWork: true),
        "POST /workbench/libraries/{slug}/faults?handler=PutAway" => await FaultAsync(row),
        "POST /workbench/libraries/{slug}/faults?handler=OpenAgain" => await FaultAsync(row, isSettled: true),
        "POST /workbench/releases/{id:long}/seal?handler=ReadAgain" => await MakerFormAsync($"/workbench/releases/{await DamagedAsync()}/seal", "Read it through again"),
        "POST /workbench/members" => await MakerFormAsync("/workbench/members", "Give it", ("Email", Stranger())),
        "GET /workbench/members/{id:long}" => Plain(row, ("{id:long}", $"{await NewMemberAsync()}")),
        "POST /workbench/members/{id:long}?handler=EndGiven" => Plain(row, ("{id:long}", $"{await NewMemberAsync()}")) with { Fields = [] },
        "POST /workbench/members/{id:long}?handler=EndPaid" or "POST /workbench/members/{id:long}?handler=PayBack" => await PaidAsync(row),
        "POST /workbench/members/import" => await MakerFormAsync("/workbench/members/import", "See what would come of it", List()) with { ChangesNothing = true },
        "POST /workbench/members/import?handler=Bring" => await TriedListAsync(),
        "POST /workbench/members/merge?handler=Look" => new(row.Method, row.Path) { Fields = await persons.TwoPeopleAsync(), ChangesNothing = true },
        "POST /workbench/members/merge?handler=Merge" => new(row.Method, row.Path) { Fields = await persons.TwoPeopleAsync() },
        "POST /workbench/downloads?handler=Close" => new(row.Method, row.Path) { Fields = [new("id", (await DownloadAsync()).Id)] },
        "POST /workbench/downloads?handler=CloseAll" => new(row.Method, $"{row.Path}&person={(await DownloadAsync()).Person}") { Fields = [] },
        "POST /workbench/tokens" => await MakerFormAsync("/workbench/tokens", "Make a token"),
        "POST /workbench/tokens?handler=Revoke" => await MakerFormAsync("/workbench/tokens", $"Revoke {await SpareTokenAsync()}"),
        "POST /workbench/shop" => await MakerFormAsync("/workbench/shop", "Save the shop", ("Shop.Name", $"Salt {world.Next()}")),
        "POST /workbench/shop?handler=Password" => await MakerFormAsync("/workbench/shop", "Change the password", ("password", DoorWorld.Password)),
        _ => Plain(row, ("{id:long}", $"{await world.DraftAsync()}")),
    };

    private async Task<Knock> EarlyDownloadAsync(DoorRow row)
    {
        var (slug, id) = await world.EarlyAsync();
        return Download(row, $"/boxes/{slug}", id);
    }

    /// <param name="row">Which door.</param>
    /// <param name="isInWork">A version that may mend it is in work.</param>
    /// <param name="isSettled">It was put away before.</param>
    private async Task<Knock> FaultAsync(DoorRow row, bool isInWork = false, bool isSettled = false)
    {
        var fault = await world.FaultAsync();
        if (isInWork)
            await Host.RunAsync((StartRelease start) => start.RunAsync(world.Free.Slug, "1.0.1", CancellationToken.None));
        if (isSettled)
            await Host.RunAsync((SettleFault settle) => settle.RunAsync(fault, FaultSettlement.PutAway, null, CancellationToken.None));
        return Plain(row, ("{slug}", world.Free.Slug)) with { Fields = [new("fault", $"{fault}")] };
    }

    private Knock Tell((string Slug, long ReleaseId) box) => new(HttpMethod.Post, $"/boxes/{box.Slug}/something-wrong")
    {
        Fields = [new("Release", $"{box.ReleaseId}"), new("Words", $"It clicks, {world.Next()} times.")],
    };

    private async Task<Knock> ComparedAsync(DoorRow row)
    {
        var (id, since) = await world.ComparedAsync();
        return new(row.Method, row.Path.Replace("{id:long}", $"{id}", StringComparison.Ordinal)) { Fields = [new("since", $"{since}")] };
    }

    /// <summary>Somebody who is a member now.</summary>
    private async Task<long> NewMemberAsync()
    {
        var email = Stranger();
        await world.Maker.PressAndFollowAsync(await world.Maker.PageAsync("/workbench/members"), "Give it", ("Email", email));
        return (await Host.PersonAsync(email)).Id;
    }

    /// <summary>Somebody who paid once for a membership that goes on.</summary>
    private async Task<Knock> PaidAsync(DoorRow row)
    {
        var name = $"{world.Next()}";
        var person = await Host.PersonAsync(Stranger());
        var now = Host.Clock!.GetUtcNow();
        var membership = new PaidMembership { PersonId = person.Id, ProviderId = $"sub_{name}", CustomerId = "cus_1" };
        await Host.WithDbAsync(async db =>
        {
            db.PaidMemberships.Add(membership);
            await db.SaveChangesAsync();
            db.Payments.Add(new()
            {
                Id = $"in_{name}", PaidMembershipId = membership.Id, PersonId = person.Id, Minor = 600, Currency = "EUR", Months = 1,
                PeriodStart = now, PeriodEnd = now.AddMonths(1), PaidAt = now,
            });
            await db.SaveChangesAsync();
        });
        return Plain(row, ("{id:long}", $"{person.Id}")) with
        {
            Fields = [new("membership", $"{membership.Id}"), new("now", "false"), new("payment", $"in_{name}"), new("already", "0"), new("currency", "EUR"), new("how", "whole")],
        };
    }

    private (string, string?)[] List() =>
        [("Pasted", $"email\n{Stranger()}\n"), ("Source", "The newsletter"), ("Consent", "To hear of new libraries."), ("TheyAgreed", "true")];

    private async Task<Knock> TriedListAsync()
    {
        var tried = await world.Maker.PressAndStayAsync(await world.Maker.PageAsync("/workbench/members/import"), "See what would come of it", List());
        var (address, fields) = tried.Fill("Bring 1 person here");
        return new(HttpMethod.Post, address.PathAndQuery) { Fields = fields };
    }

    /// <summary>A link somebody made, which still opens.</summary>
    private async Task<(string Id, long Person)> DownloadAsync(string? email = null)
    {
        var person = (await Host.PersonAsync(email ?? Stranger())).Id;
        var made = Assert.IsType<MakeLinkOutcome.Made>(await Host.RunAsync((MakeLink make) => make.RunAsync(world.Free.ReleaseId, person, null, CancellationToken.None)));
        return (made.DownloadId, person);
    }

    /// <summary>Everyone is signed in on another device.</summary>
    /// <returns>The member's.</returns>
    private async Task<long> DevicesAsync()
    {
        var ids = new List<long>();
        foreach (var email in new[] { DoorWorld.MemberEmail, DoorWorld.LeftEmail, ShelfHost.MakerEmail })
        {
            var person = (await Host.PersonAsync(email)).Id;
            ids.Add(await Host.RunAsync((StartDevice start) => start.RunAsync(person, "Firefox on Linux", null, CancellationToken.None)));
        }
        return ids[0];
    }

    /// <summary>Of the mail to the old address of somebody who wants another.</summary>
    private async Task<string> AddressTokenAsync()
    {
        var person = await Host.PersonAsync(Stranger());
        Assert.Equal(AskAddressOutcome.MailsOnTheirWay, await Host.RunAsync((AskForAddress ask) => ask.RunAsync(person.Id, Stranger(), "", CancellationToken.None)));
        return (await Host.NewestMailAsync(person.Email!)).AddressToken;
    }

    /// <summary>A passkey of the maker's, whose private half nobody has.</summary>
    private async Task<string> PasskeyAsync()
    {
        byte[] id = [.. System.Security.Cryptography.RandomNumberGenerator.GetBytes(16)];
        var maker = await Host.PersonAsync(ShelfHost.MakerEmail);
        await Host.RunAsync((KeepPasskey keep) => keep.RunAsync(
            maker.Id, new UserPasskeyInfo(id, [1], DateTimeOffset.UnixEpoch, 0, ["usb"], true, false, false, [1], [1]), "spare", CancellationToken.None));
        return System.Buffers.Text.Base64Url.EncodeToString(id);
    }

    private async Task<Knock> OfASenderAsync(DoorRow row) => row.Name switch
    {
        "POST /api/libraries/{slug}/drafts" => Plain(row, ("{slug}", await world.LibraryAsync())) with { Json = new { number = "1.0.0" } },
        "POST /api/drafts/{id:long}/folder" => Plain(row, ("{id:long}", $"{await world.DraftAsync()}")) with
        {
            Json = new { files = new[] { new { path = "b.wav", size = 3, sha256 = SendBench.Hash("abc"u8.ToArray()) } } },
        },
        "GET /api/drafts/{id:long} (sealed)" => Plain(row, ("{id:long}", $"{world.Free.ReleaseId}")),
        "POST /uploads" => new(row.Method, row.Path) { Tus = ([], await WishAsync()) },
        "POST /uploads/{id}" => new(row.Method, await UploadAsync()) { Tus = ([], [("X-HTTP-Method-Override", "DELETE")]) },
        "PATCH /uploads/{id}" => new(row.Method, await UploadAsync()) { Tus = ("abc"u8.ToArray(), [("Upload-Offset", "0")]) },
        "HEAD /uploads/{id}" or "DELETE /uploads/{id}" => new(row.Method, await UploadAsync()) { Tus = ([], []) },
        _ => Plain(row, ("{id:long}", $"{await world.DraftAsync()}"), ("{id}", "none")),
    };

    private static Knock Plain(DoorRow row, params (string Parameter, string Value)[] values) =>
        new(row.Method, values.Aggregate(row.Path, (path, v) => path.Replace(v.Parameter, v.Value, StringComparison.Ordinal)));

    private static Knock Download(DoorRow row, string address, long releaseId) => new(row.Method, address) { Fields = [new("release", $"{releaseId}")] };

    private Task<Knock> MakerFormAsync(string page, string button, params (string, string?)[] values) => FormAsync(world.Maker, page, button, values);

    private Task<Knock> VisitorFormAsync(string page, string button, params (string, string?)[] values) => FormAsync(Host.Visitor(), page, button, values);

    private static async Task<Knock> FormAsync(HttpClient client, string page, string button, (string, string?)[] values)
    {
        var (address, fields) = (await client.PageAsync(page)).Fill(button, values);
        return new(HttpMethod.Post, address.PathAndQuery) { Fields = fields };
    }

    private async Task<Knock> RecordingAsync(DoorRow row)
    {
        var id = await world.DraftAsync();
        var hash = await Host.AskDbAsync(db => db.ReleaseFiles.Where(f => f.ReleaseId == id).Select(f => f.Sha256).SingleAsync());
        return Plain(row, ("{id:long}", $"{id}"), ("{sha256}", hash));
    }

    private async Task<Knock> PutAwayAsync()
    {
        await Host.RunAsync((RaiseAlert raise) => raise.RunAsync(AlertKind.JobFailed, $"Odd({world.Next()})", "It broke off.", default));
        var page = await world.Maker.PageAsync("/workbench");
        return await MakerFormAsync("/workbench", page.QuerySelector("article button")!.Words());
    }

    private async Task<long> DamagedAsync()
    {
        var id = await world.SealedAsync();
        await Host.WithDbAsync(db => db.Archives.Where(a => a.ReleaseId == id)
            .ExecuteUpdateAsync(s => s.SetProperty(a => a.Sha256, (string?)null).SetProperty(a => a.Trouble, "A stored file is gone.")));
        return id;
    }

    private string Stranger() => $"stranger-{world.Next()}@post.example";

    private Task<ReceivedMail> MailAsync() => Host.AskAsync(Host.Visitor(), Stranger());

    private async Task<Knock> CodeAsync()
    {
        var email = Stranger();
        var mail = await Host.AskAsync(Host.Visitor(), email);
        return await VisitorFormAsync("/sign-in/code", "Sign in with the code", ("Email", email), ("Code", mail.Code));
    }

    /// <summary>The last letter of the secret is another.</summary>
    private static string Altered(string link)
    {
        // The last of 43 base64url characters carries two bits that count for nothing, so the one before it is changed.
        var at = link.Length - 2;
        return link[..at] + (link[at] == 'A' ? 'B' : 'A') + link[(at + 1)..];
    }

    private async Task<string> ClaimTokenAsync()
    {
        var token = $"claim-{world.Next()}-aaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaaa";
        var now = Host.Clock!.GetUtcNow();
        await Host.WithDbAsync(async db =>
        {
            db.SignInTickets.Add(new SignInTicket
            {
                Purpose = SignInPurpose.ClaimShelf, TokenHash = SendBench.Hash(System.Text.Encoding.UTF8.GetBytes(token)),
                CreatedAt = now, ExpiresAt = now.AddHours(1),
            });
            await db.SaveChangesAsync();
        });
        return token;
    }

    private async Task<string> RecoveryTokenAsync() => Assert.IsType<OfferRecoveryOutcome.Offered>(
        await Host.RunAsync<OfferRecovery, OfferRecoveryOutcome>(offer => offer.RunAsync(ShelfHost.MakerEmail, removePasskeys: false, default))).Token;

    private async Task<string> SpareTokenAsync()
    {
        var name = $"spare-{world.Next()}";
        await Host.RunAsync((MakeUploadToken make) => make.RunAsync(name, default));
        return name;
    }

    private async Task<(string, string)[]> WishAsync() =>
    [
        ("Upload-Length", "3"),
        ("Upload-Metadata", SendBench.Metadata(("release", $"{await world.DraftAsync()}"), ("path", $"b{world.Next()}.wav"))),
    ];

    /// <summary>An upload of three bytes, none of which is here yet.</summary>
    private async Task<string> UploadAsync()
    {
        using var sender = await world.ClientAsync(Who.Token);
        using var request = new Knock(HttpMethod.Post, "/uploads") { Tus = ([], await WishAsync()) }.With(proof: null);
        using var made = await sender.SendAsync(request);
        return made.Headers.Location!.OriginalString;
    }

    private static async Task<byte[]> ZipAsync()
    {
        using var bytes = new MemoryStream();
        await using (var zip = new ZipArchive(bytes, ZipArchiveMode.Create, leaveOpen: true))
        {
            await using var file = await zip.CreateEntry("a.wav").OpenAsync();
            await file.WriteAsync("abc"u8.ToArray());
        }
        return bytes.ToArray();
    }
}
