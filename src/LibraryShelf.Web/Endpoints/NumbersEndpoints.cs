using System.Text.Json;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Web.Pages.Workbench.Numbers;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Endpoints;

/// <summary>The figures for programs: read only, for the maker or a token for the figures. Ranges are taken as the pages take them; kept by no cache.</summary>
internal static class NumbersEndpoints
{
    private static readonly JsonSerializerOptions Shape = new(JsonSerializerDefaults.Web);

    public static void MapNumbers(this WebApplication app)
    {
        var numbers = app.MapGroup("/api/numbers").RequireAuthorization(Policies.NumbersReader);
        numbers.MapGet("/downloads", DownloadsAsync);
        numbers.MapGet("/libraries", async (HttpResponse response, string? from, string? to, [FromServices] ReadLibraryNumbers read, CancellationToken cancellationToken) =>
            Say(response, NumbersJson.Of(await read.RunAsync(today => DayRange.Read(from, to, today, DownloadsModel.Usual), int.MaxValue, cancellationToken))));
        numbers.MapGet("/versions", async (HttpResponse response, string? library, string? from, string? to, [FromServices] ReadVersionShares read, CancellationToken cancellationToken) =>
            await read.RunAsync(library, today => DayRange.Read(from, to, today, ReadVersionShares.UsualDays), VersionsModel.UsualUptakes, cancellationToken) is var shares
                && IsAnother(library, shares.Box) ? NoSuchLibrary(response, T($"No library that has a version out has the slug “{library}” on this shelf.")) : Say(response, NumbersJson.Of(shares)));
        numbers.MapGet("/members", async (HttpResponse response, string? from, string? to, [FromServices] ReadMemberNumbers read, CancellationToken cancellationToken) =>
            Say(response, NumbersJson.Of(await read.RunAsync(MemberNumbersWords.Read(from), MemberNumbersWords.Read(to), cancellationToken))));
        numbers.MapGet("/drops", async (HttpResponse response, string? from, string? to, [FromServices] ReadDropUptakes read, CancellationToken cancellationToken) =>
            Say(response, NumbersJson.Of(await read.RunAsync(MemberNumbersWords.Read(from), MemberNumbersWords.Read(to), cancellationToken))));
    }

    private static async Task<IResult> DownloadsAsync(
        HttpResponse response, string? library, string? from, string? to, [FromServices] ReadNumbers read, [FromServices] ReadNumbersLines readLines,
        [FromServices] ReadSeen seen, CancellationToken cancellationToken)
    {
        var numbers = await read.RunAsync(library, today => DayRange.Read(from, to, today, DownloadsModel.Usual), cancellationToken);
        if (IsAnother(library, numbers.Chosen))
            return NoSuchLibrary(response, T($"No library has the slug “{library}” on this shelf."));
        var answers = numbers.Chosen is null ? await seen.RunAsync(SightingKind.Answer, numbers.Range, int.MaxValue, cancellationToken) : null;
        return Say(response, NumbersJson.Of(numbers, readLines.RunAsync(library, _ => numbers.Range, cancellationToken), answers));
    }

    /// <summary>A page shows all boxes, or the busiest, for a slug that is none; a program would take those figures for its own.</summary>
    private static bool IsAnother(string? asked, NumbersBox? chosen) => !string.IsNullOrEmpty(asked) && asked != chosen?.Slug;

    /// <summary>RFC 9457.</summary>
    private static IResult NoSuchLibrary(HttpResponse response, string what)
    {
        response.Headers.CacheControl = "no-store";
        return Results.Problem(
            statusCode: StatusCodes.Status404NotFound, title: T("No such library"), detail: what + " " + T("Slugs stand in /api/numbers/libraries."));
    }

    private static IResult Say<T>(HttpResponse response, T figures)
    {
        response.Headers.CacheControl = "no-store";
        return Results.Json(figures, Shape);
    }
}
