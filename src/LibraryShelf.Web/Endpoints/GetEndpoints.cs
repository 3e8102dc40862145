using System.Globalization;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Storage;
using LibraryShelf.Web.Endpoints.Serving;
using LibraryShelf.Web.Setup.Metering;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Endpoints;

/// <summary>
/// The bytes. A link carries its right with it: any client may use it, with no cookie. Everything under /get/ comes here, so that
/// a link that lost a piece on the way gets the same page as any other bad one.
/// </summary>
internal static class GetEndpoints
{
    public static void MapDownloads(this WebApplication app) =>
        app.MapMethods(LinkTarget.Get + "{**link}", [HttpMethods.Get, HttpMethods.Head], GetAsync).AllowAnonymous();

    private static async Task GetAsync(
        HttpContext context, [FromServices] IServiceScopeFactory scopes, [FromServices] LinkDoor door, [FromServices] DownloadTurns turns,
        [FromServices] EventQueue queue, [FromServices] IBlobStore blobs, [FromServices] Sightings sightings, [FromServices] ShelfMeter meter, [FromServices] ILogger<Handover> log)
    {
        var isThrough = false;
        try
        {
            if (await PrepareAsync(context, scopes, door, turns, queue, meter, log) is { } answer)
            {
                using var handover = answer.Handover;
                using var turn = answer.Turn;
                await SendAsync(context, answer, blobs);
            }
            isThrough = true;
        }
        finally
        {
            Tell(context, isThrough, sightings, meter);
        }
    }

    /// <summary>What threw before its first byte is answered 500 further out, unless nobody is there to be answered.</summary>
    private static void Tell(HttpContext context, bool isThrough, Sightings sightings, ShelfMeter meter)
    {
        var isAnswered = isThrough || context.Response.HasStarted;
        if (!isAnswered && context.RequestAborted.IsCancellationRequested)
            return;
        var status = isAnswered ? context.Response.StatusCode : StatusCodes.Status500InternalServerError;
        meter.Answered(status);
        sightings.Add(SightingKind.Answer, 0, HttpMethods.IsHead(context.Request.Method) ? "HEAD" : status.ToString(CultureInfo.InvariantCulture));
    }

    /// <summary>What is about to go out; to be disposed of after it.</summary>
    private sealed record Prepared(ServingPlan Plan, OpenLinkOutcome.Open Opened, Handover Handover, DownloadTurn? Turn);

    /// <returns>Null: it was answered otherwise.</returns>
    private static async Task<Prepared?> PrepareAsync(
        HttpContext context, IServiceScopeFactory scopes, LinkDoor door, DownloadTurns turns, EventQueue queue, ShelfMeter meter, ILogger log)
    {
        // Its own, and over before the bytes: hundreds who fetch them for hours need nothing of the database meanwhile.
        await using var scope = scopes.CreateAsyncScope();
        var open = scope.ServiceProvider.GetRequiredService<OpenLink>();
        var outcome = await door.PassAsync(() => open.RunAsync(LinkTarget.Of(context), context.RequestAborted), context.RequestAborted);
        if (outcome is not OpenLinkOutcome.Open opened)
        {
            await RefusedLink.WriteAsync(context, (OpenLinkOutcome.Refused)outcome);
            return null;
        }
        var request = context.Request;
        var plan = ServingPlan.For(request.Method, request.Headers, ArchiveResponse.ETag(opened.Archive), opened.Layout.Length);
        var bytes = HttpMethods.IsGet(request.Method) ? plan.Ranges.Sum(r => r.Count) : 0;
        var taken = turns.IsLimited && bytes > 0 ? turns.Begin(opened.Download.Id, bytes, IsBack(plan, opened)) : null;
        if (taken is TurnOutcome.Waits waits)
        {
            await WaitingAnswer.WriteAsync(context, waits);
            return null;
        }
        var answer = new Prepared(plan, opened, new Handover(queue, opened.Download.Id, opened.Use, log, meter), (taken as TurnOutcome.Runs)?.Turn);
        var start = scope.ServiceProvider.GetRequiredService<StartDownload>();
        return bytes == 0 || await MayBeginAsync(context, answer, bytes, StartAsync) ? answer : null;

        Task<LinkTrouble?> StartAsync(Download download) =>
            door.PassAsync(() => start.RunAsync(download, context.RequestAborted, hasWaited: turns.IsLimited), context.RequestAborted);
    }

    /// <summary>Only who was cut off knows the archive's entity tag and asks for all from there on.</summary>
    private static bool IsBack(ServingPlan plan, OpenLinkOutcome.Open opened) =>
        plan.ResumedFrom >= DownloadTurns.Small && opened.Download.StartedAt is not null;

    /// <returns>False: something came between since the link was opened, and that was the answer.</returns>
    private static async Task<bool> MayBeginAsync(HttpContext context, Prepared answer, long bytes, Func<Download, Task<LinkTrouble?>> startAsync)
    {
        var mayBegin = false;
        try
        {
            var trouble = await BeginAsync(answer, bytes, startAsync);
            mayBegin = trouble is null;
            if (trouble is { } what)
                await RefusedLink.WriteAsync(context, new(what, answer.Opened.Download.Id));
            return mayBegin;
        }
        finally
        {
            if (!mayBegin)
            {
                answer.Handover.Dispose();
                answer.Turn?.Dispose();
            }
        }
    }

    /// <returns>What came between since the link was opened; null when bytes may go out.</returns>
    private static async Task<LinkTrouble?> BeginAsync(Prepared answer, long bytes, Func<Download, Task<LinkTrouble?>> startAsync)
    {
        if (answer.Handover.TryBegin(bytes) is { } tooMuch) return tooMuch;
        var isFirst = answer.Opened.Download.StartedAt is null;
        if (isFirst && await startAsync(answer.Opened.Download) is { } trouble) return trouble;
        // The first request can't be a resumption, whatever it says.
        if (answer.Plan.ResumedFrom is { } from && !isFirst) answer.Handover.AddEvidence(from);
        return null;
    }

    private static async Task SendAsync(HttpContext context, Prepared answer, IBlobStore blobs)
    {
        try
        {
            await ArchiveResponse.WriteAsync(context, answer.Plan, answer.Opened, blobs, answer.Handover, answer.Turn);
        }
        catch (Exception broken) when (context.RequestAborted.IsCancellationRequested && broken is OperationCanceledException or IOException)
        {
            // People stop downloads and lose connections; that is no fault, and what was handed over counts.
        }
        finally
        {
            answer.Handover.Finish();
        }
    }
}
