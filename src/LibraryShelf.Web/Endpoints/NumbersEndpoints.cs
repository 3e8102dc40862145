using System.Text.Json;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Statistics.Members;
using LibraryShelf.Web.Pages.Workbench.Numbers;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;
using NodaTime;

namespace LibraryShelf.Web.Endpoints;

/// <summary>The figures for programs: read only, for the maker or a token for the figures. Ranges are taken as the pages take them; kept by no cache.</summary>
internal static class NumbersEndpoints
{
    private static readonly JsonSerializerOptions Shape = new(JsonSerializerDefaults.Web);

    public static void MapNumbers(this WebApplication app)
    {
        var numbers = app.MapGroup("/api/numbers").RequireAuthorization(Policies.NumbersReader);
        numbers.MapGet("/downloads", DownloadsAsync);
        numbers.MapGet("/libraries", LibrariesAsync);
        numbers.MapGet("/versions", VersionsAsync);
        numbers.MapGet("/members", MembersAsync);
        numbers.MapGet("/drops", DropsAsync);
    }

    private static async Task<IResult> DownloadsAsync(
        HttpResponse response, string? library, string? from, string? to, string? against, [FromServices] ReadNumbers read, [FromServices] ReadNumbersLines readLines,
        [FromServices] ReadSeen seen, [FromServices] ReadDaysBeside readBeside, CancellationToken cancellationToken)
    {
        LocalDate today = default;
        var numbers = await read.RunAsync(library, day => DayRange.Read(from, to, today = day, DownloadsModel.Usual), cancellationToken);
        if (IsAnother(library, numbers.Chosen))
            return NoSuchLibrary(response, T($"No library has the slug “{library}” on this shelf."));
        var other = await readBeside.RunAsync(against, numbers.Range, today, cancellationToken) is { IsKnown: true } asked
            ? await read.RunAsync(library, _ => asked.Range, cancellationToken) : null;
        return Say(response, await OfAsync(numbers) with { Beside = other is null ? null : await OfAsync(other) });

        async Task<NumbersJson.Downloads> OfAsync(DownloadNumbers of) => NumbersJson.Of(of, readLines.RunAsync(library, _ => of.Range, cancellationToken),
            of.Chosen is null ? await seen.RunAsync(SightingKind.Answer, of.Range, int.MaxValue, cancellationToken) : null);
    }

    private static async Task<IResult> LibrariesAsync(
        HttpResponse response, string? from, string? to, string? against, [FromServices] ReadLibraryNumbers read, [FromServices] ReadDaysBeside readBeside, [FromServices] ReadWordsKept readKept,
        CancellationToken cancellationToken)
    {
        LocalDate today = default;
        var numbers = await read.RunAsync(day => DayRange.Read(from, to, today = day, DownloadsModel.Usual), int.MaxValue, cancellationToken);
        DateOnly? kept = await readKept.RunAsync(cancellationToken) is { } day ? NumbersJson.Day(day) : null;
        return Say(response, Of(numbers) with
        {
            Beside = await readBeside.RunAsync(against, numbers.Range, today, cancellationToken) is { IsKnown: true } asked
                ? Of(await read.RunAsync(_ => asked.Range, int.MaxValue, cancellationToken)) : null,
        });

        NumbersJson.Libraries Of(LibraryNumbers of) => NumbersJson.Of(of) with { WordsKeptFrom = kept };
    }

    private static async Task<IResult> VersionsAsync(
        HttpResponse response, string? library, string? from, string? to, string? against, [FromServices] ReadVersionShares read, [FromServices] ReadDaysBeside readBeside, CancellationToken cancellationToken)
    {
        LocalDate today = default;
        var shares = await read.RunAsync(library, day => DayRange.Read(from, to, today = day, ReadVersionShares.UsualDays), VersionsModel.UsualUptakes, cancellationToken);
        if (IsAnother(library, shares.Box))
            return NoSuchLibrary(response, T($"No library that has a version out has the slug “{library}” on this shelf."));
        return Say(response, NumbersJson.Of(shares) with
        {
            // How long a version took is the same whatever the days.
            Beside = shares.Box is { } box && await readBeside.RunAsync(against, shares.Range, today, cancellationToken) is { IsKnown: true } asked
                ? NumbersJson.Of(await read.RunAsync(box.Slug, _ => asked.Range, uptakes: 0, cancellationToken)) : null,
        });
    }

    private static async Task<IResult> MembersAsync(
        HttpResponse response, string? from, string? to, string? against, [FromServices] ReadMemberNumbers read, CancellationToken cancellationToken)
    {
        var numbers = await read.RunAsync(MemberNumbersWords.Read(from), MemberNumbersWords.Read(to), cancellationToken);
        return Say(response, NumbersJson.Of(numbers) with
        {
            Beside = Beside.ReadMonths(against, numbers.First, numbers.Last, numbers.Earliest, numbers.Present) is { Trouble: null } asked
                ? NumbersJson.Of(await read.RunAsync(asked.From, asked.To, cancellationToken)) : null,
        });
    }

    private static async Task<IResult> DropsAsync(
        HttpResponse response, string? from, string? to, string? against, [FromServices] ReadDropUptakes read, CancellationToken cancellationToken)
    {
        var numbers = await read.RunAsync(MemberNumbersWords.Read(from), MemberNumbersWords.Read(to), cancellationToken);
        return Say(response, NumbersJson.Of(numbers) with
        {
            Beside = Beside.ReadMonths(against, numbers.First, numbers.Last, numbers.Earliest, numbers.Latest) is { Trouble: null } asked
                ? NumbersJson.Of(await read.RunAsync(asked.From, asked.To, cancellationToken)) : null,
        });
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
