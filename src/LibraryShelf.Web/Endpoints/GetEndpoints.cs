using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Storage;
using LibraryShelf.Web.Endpoints.Serving;
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
        HttpContext context, [FromServices] OpenLink open, [FromServices] StartDownload start, [FromServices] DownloadTurns turns,
        [FromServices] EventQueue queue, [FromServices] IBlobStore blobs, [FromServices] ILogger<Handover> log)
    {
        var outcome = await open.RunAsync(LinkTarget.Of(context), context.RequestAborted);
        if (outcome is not OpenLinkOutcome.Open opened)
        {
            await RefusedLink.WriteAsync(context, (OpenLinkOutcome.Refused)outcome);
            return;
        }
        var request = context.Request;
        var plan = ServingPlan.For(request.Method, request.Headers, ArchiveResponse.ETag(opened.Archive), opened.Layout.Length);
        using var handover = new Handover(queue, opened.Download.Id, opened.Use, log);
        var bytes = HttpMethods.IsGet(request.Method) ? plan.Ranges.Sum(r => r.Count) : 0;
        var turn = turns.IsLimited && bytes > 0 ? turns.Begin(opened.Download.Id, bytes, IsBack(plan, opened)) : null;
        if (turn is TurnOutcome.Waits waits)
        {
            await WaitingAnswer.WriteAsync(context, waits);
            return;
        }
        using var running = (turn as TurnOutcome.Runs)?.Turn;
        if (bytes > 0 && await BeginAsync(plan, opened, handover, start, turns.IsLimited, context.RequestAborted) is { } trouble)
        {
            await RefusedLink.WriteAsync(context, new(trouble, opened.Download.Id));
            return;
        }
        await SendAsync(context, plan, opened, blobs, handover, running);
    }

    /// <summary>Only who was cut off knows the archive's entity tag and asks for all from there on.</summary>
    private static bool IsBack(ServingPlan plan, OpenLinkOutcome.Open opened) =>
        plan.ResumedFrom >= DownloadTurns.Small && opened.Download.StartedAt is not null;

    /// <returns>What came between since the link was opened; null when bytes may go out.</returns>
    private static async Task<LinkTrouble?> BeginAsync(
        ServingPlan plan, OpenLinkOutcome.Open opened, Handover handover, StartDownload start, bool mayHaveWaited, CancellationToken cancellationToken)
    {
        if (handover.TryBegin(plan.Ranges.Sum(r => r.Count)) is { } tooMuch) return tooMuch;
        var isFirst = opened.Download.StartedAt is null;
        if (isFirst && await start.RunAsync(opened.Download, cancellationToken, mayHaveWaited) is { } trouble) return trouble;
        // The first request can't be a resumption, whatever it says.
        if (plan.ResumedFrom is { } from && !isFirst) handover.AddEvidence(from);
        return null;
    }

    private static async Task SendAsync(
        HttpContext context, ServingPlan plan, OpenLinkOutcome.Open opened, IBlobStore blobs, Handover handover, DownloadTurn? turn)
    {
        try
        {
            await ArchiveResponse.WriteAsync(context, plan, opened, blobs, handover, turn);
        }
        catch (Exception broken) when (context.RequestAborted.IsCancellationRequested && broken is OperationCanceledException or IOException)
        {
            // People stop downloads and lose connections; that is no fault, and what was handed over counts.
        }
        finally
        {
            handover.Finish();
        }
    }
}
