using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Checking;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Extensions.Options;
using LibraryShelf.Web.Setup;

namespace LibraryShelf.Web.Endpoints;

/// <summary>What the page and `shelf send` ask around the uploads themselves.</summary>
internal static class SendEndpoints
{
    /// <summary>States and severities as words: draft, must-fix.</summary>
    private static readonly JsonSerializerOptions Words = new(JsonSerializerDefaults.Web)
    {
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
    };

    /// <summary>Seconds that one request may wait for the end of a check.</summary>
    private const int LongestWait = 10;

    private static readonly TimeSpan LookAgain = TimeSpan.FromMilliseconds(250);

    internal sealed record FolderBody(List<PlannedFile>? Files);

    internal sealed record Wanted(string Path, long Size, string? Sha256, string? Upload);

    internal sealed record FolderAnswer(int Files, long Bytes, long WantedBytes, IReadOnlyList<Wanted> Wanted);

    internal sealed record DraftBody(string? Number);

    /// <summary>The draft to send into; the pages are for people.</summary>
    internal sealed record DraftAnswer(long Id, string Number, string Folder, string Sheet);

    public static void MapSend(this WebApplication app)
    {
        var api = app.MapGroup("/api").GuardSenders();
        api.MapPost("/libraries/{slug}/drafts", StartAsync);
        api.MapPost("/drafts/{id:long}/folder", PlanAsync).WithMetadata(new RequestSizeLimitAttribute(MostPlanBytes(app)));
        api.MapPost("/drafts/{id:long}/check", CheckAsync);
        api.MapGet("/drafts/{id:long}", LookAsync);
    }

    /// <summary>
    /// The platform's limit for a body, 30 MB, is too small for a shelf that takes 100,000 files: a line is at most some 1,300 bytes
    /// when each letter of its path is escaped, and 2 KB leave room for spaces.
    /// </summary>
    private static long MostPlanBytes(WebApplication app) =>
        (2048L * app.Services.GetRequiredService<IOptions<ShelfSettings>>().Value.Intake.MaxFiles) + (1 << 20);

    /// <summary>Goes on with the library's open draft, or starts one; a number is asked for by name or proposed.</summary>
    private static async Task<IResult> StartAsync(
        string slug, DraftBody body, StartRelease start, HttpRequest request, CancellationToken cancellationToken) =>
        await start.RunAsync(slug, body.Number, cancellationToken) switch
        {
            StartReleaseOutcome.Started started => Results.Ok(DraftOf(request, started.ReleaseId, started.Number)),
            StartReleaseOutcome.AlreadyOpen open when body.Number is null || body.Number == open.Number => Results.Ok(DraftOf(request, open.ReleaseId, open.Number)),
            StartReleaseOutcome.AlreadyOpen open => Refusals.Say(StatusCodes.Status409Conflict,
                T($"Version {open.Number} of this library is still open; there is one at a time. Seal it, or send without a number to go on with it.")),
            StartReleaseOutcome.Refused refused => Refusals.Say(StatusCodes.Status422UnprocessableEntity, refused.Refusal.Words),
            _ => Refusals.Say(StatusCodes.Status404NotFound, T($"There is no library “{slug}” on this shelf. Its name is the last part of its address.")),
        };

    private static DraftAnswer DraftOf(HttpRequest request, long id, string number) =>
        new(id, number, $"{request.PathBase}/workbench/releases/{id}", $"{request.PathBase}/workbench/releases/{id}/sheet");

    private static async Task<IResult> PlanAsync(long id, FolderBody body, PlanFolder plan, HttpRequest request, CancellationToken cancellationToken) =>
        await plan.RunAsync(id, body.Files ?? [], cancellationToken) switch
        {
            PlanOutcome.Planned planned => Results.Ok(AnswerOf(planned, request)),
            PlanOutcome.NoSuchRelease => Refusals.NoSuchRelease(),
            PlanOutcome.Closed closed => Refusals.Say(StatusCodes.Status409Conflict, closed.Message),
            PlanOutcome.Refused refused => Refusals.Say(StatusCodes.Status422UnprocessableEntity, refused.Message, refused.Path),
            var other => throw new InvalidOperationException(other.ToString()),
        };

    private static FolderAnswer AnswerOf(PlanOutcome.Planned planned, HttpRequest request) => new(
        planned.Files, planned.Bytes, planned.Wanted.Sum(w => w.Size),
        [.. planned.Wanted.Select(w => new Wanted(w.Path, w.Size, w.Sha256, w.UploadId is null ? null : $"{request.PathBase}/uploads/{w.UploadId}"))]);

    /// <summary>Asks for the check and answers where the draft stands; asking twice, or for a checked release, is harmless.</summary>
    private static async Task<IResult> CheckAsync(long id, AskForCheck ask, ReadDraft read, JobChain chain, CancellationToken cancellationToken)
    {
        switch (await ask.RunAsync(id, cancellationToken))
        {
            case AskForCheckOutcome.Asked:
                chain.CheckSoon(id);
                break;
            case AskForCheckOutcome.StillOnTheWay notYet:
                return Refusals.Say(StatusCodes.Status409Conflict, notYet.Message);
            case AskForCheckOutcome.NotADraft closed when (await read.RunAsync(id, cancellationToken))?.State != ReleaseState.Checked:
                return Refusals.Say(StatusCodes.Status409Conflict, closed.Message);
        }
        return await ReadAsync(id, read, cancellationToken);
    }

    /// <summary>
    /// An upload token follows what it sends and no further: what is sealed is the maker's business. Who prefers to wait for the end of the check is
    /// answered then, or after that time (RFC 7240 §4.3).
    /// </summary>
    private static async Task<IResult> LookAsync(
        long id, ReadDraft read, CheckEnds ends, TimeProvider clock, HttpContext context, CancellationToken cancellationToken)
    {
        var wait = WaitOf(context.Request);
        if (wait > TimeSpan.Zero)
            context.Response.Headers["Preference-Applied"] = string.Create(CultureInfo.InvariantCulture, $"wait={wait.TotalSeconds:0}");
        var over = Task.Delay(wait, clock, cancellationToken);
        while (true)
        {
            var end = ends.Next;
            var standing = await read.RunAsync(id, cancellationToken);
            if (standing is null)
                return Refusals.NoSuchRelease();
            if (standing.State is not (ReleaseState.Draft or ReleaseState.Checked) && !context.User.IsMaker())
            {
                return Refusals.Say(StatusCodes.Status403Forbidden,
                    T("This version is sealed: an upload token reads only what is still being sent. Its maker sees it at the workbench."));
            }
            if (!standing.IsChecking || over.IsCompleted)
                return Results.Json(standing, Words);
            // A check that runs in another program, or was called off, is not told here.
            await Task.WhenAny(end, over, Task.Delay(LookAgain, clock, cancellationToken));
        }
    }

    /// <summary>The seconds of "Prefer: wait=…", at most <see cref="LongestWait"/>; none when it says nothing of the kind.</summary>
    private static TimeSpan WaitOf(HttpRequest request)
    {
        foreach (var preference in request.Headers.GetCommaSeparatedValues("Prefer"))
            if (preference.StartsWith("wait=", StringComparison.OrdinalIgnoreCase)
                && int.TryParse(preference.AsSpan(5), NumberStyles.None, CultureInfo.InvariantCulture, out var seconds))
                return TimeSpan.FromSeconds(Math.Min(seconds, LongestWait));
        return TimeSpan.Zero;
    }

    private static async Task<IResult> ReadAsync(long id, ReadDraft read, CancellationToken cancellationToken) =>
        await read.RunAsync(id, cancellationToken) is { } standing ? Results.Json(standing, Words) : Refusals.NoSuchRelease();
}
