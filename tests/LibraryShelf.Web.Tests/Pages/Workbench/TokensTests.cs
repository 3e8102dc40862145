using System.Net;
using System.Net.Http.Headers;
using LibraryShelf.Core.Accounts;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

public sealed class TokensTests
{
    [Fact]
    public async Task A_token_is_shown_once_kept_hashed_and_revoked()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var made = await maker.PressAndStayAsync(await maker.PageAsync("/workbench/tokens"), "Make a token", ("name", "studio laptop"));
        var token = made.QuerySelector("#made-token")!.Words();
        Assert.DoesNotContain(token, (await maker.PageAsync("/workbench/tokens")).Body!.TextContent, StringComparison.Ordinal);
        var row = await host.AskDbAsync(db => db.UploadTokens.AsNoTracking().SingleAsync());
        Assert.DoesNotContain(token, row.TokenHash, StringComparison.Ordinal);
        Assert.Equal((row.Id, TokenUse.Send), await FindAsync(host, token));

        await maker.PressAndFollowAsync(await maker.PageAsync("/workbench/tokens"), "Revoke studio laptop");
        Assert.Null(await FindAsync(host, token));
    }

    [Fact]
    public async Task What_a_token_opens_is_chosen_and_said()
    {
        await using var host = new ShelfHost();
        var maker = await host.MakerAsync();
        var sends = await maker.PressAndStayAsync(await maker.PageAsync("/workbench/tokens"), "Make a token", ("name", "studio laptop"));
        Assert.Contains("shelf send DIR", sends.QuerySelector(".notice")!.Words(), StringComparison.Ordinal);
        var reads = await maker.PressAndStayAsync(await maker.PageAsync("/workbench/tokens"), "Make a token", ("name", "spreadsheet"), ("use", "ReadNumbers"));
        var token = reads.QuerySelector("#made-token")!.Words();
        Assert.Contains($"Use it so: curl -H \"Authorization: Bearer {token}\" http://localhost/api/numbers/downloads", reads.QuerySelector(".notice")!.Words(), StringComparison.Ordinal);
        Assert.Equal(["spreadsheet|reading the figures", "studio laptop|sending folders"], reads.QuerySelectorAll("tbody tr").Select(r => $"{r.Children[0].Words()}|{r.Children[1].Words()}"));
        Assert.Equal(TokenUse.ReadNumbers, (await FindAsync(host, token))!.Value.Use);
    }

    [Fact]
    public async Task A_token_opens_the_machines_doors_and_no_page()
    {
        await using var host = new ShelfHost();
        var token = await host.RunAsync<MakeUploadToken, string>(make => make.RunAsync("tests", CancellationToken.None));
        var machine = host.Visitor();
        Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync("/api/drafts/1"));
        machine.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token);
        Assert.Equal(HttpStatusCode.NotFound, await StatusAsync("/api/drafts/1"));
        Assert.Equal(HttpStatusCode.Redirect, await StatusAsync("/workbench"));
        machine.DefaultRequestHeaders.Authorization = new AuthenticationHeaderValue("Bearer", token + "x");
        Assert.Equal(HttpStatusCode.Unauthorized, await StatusAsync("/api/drafts/1"));

        async Task<HttpStatusCode> StatusAsync(string path)
        {
            using var answer = await machine.GetAsync(new Uri(path, UriKind.Relative));
            return answer.StatusCode;
        }
    }

    private static Task<(long Id, TokenUse Use)?> FindAsync(ShelfHost host, string token) =>
        host.RunAsync<FindUploadToken, (long Id, TokenUse Use)?>(find => find.RunAsync(token, CancellationToken.None));
}
