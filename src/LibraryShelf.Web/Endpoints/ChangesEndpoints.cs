using LibraryShelf.Core.Comparing;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Endpoints;

/// <summary>What a version changed as a file, "libraryshelf/compare/1"; for the maker alone.</summary>
internal static class ChangesEndpoints
{
    public static void MapChanges(this WebApplication app) =>
        app.MapGet("/workbench/releases/{id:long}/changes.json", ReadAsync).RequireAuthorization(Policies.Maker);

    /// <summary>202 while the comparison is on its way, so that a page can wait for it.</summary>
    private static async Task<IResult> ReadAsync(long id, long? since, [FromServices] ReadComparison read, CancellationToken cancellationToken) =>
        await read.RunAsync(id, since, cancellationToken) switch
        {
            null => Refusals.NoSuchRelease(),
            { Trouble: { } trouble } => Refusals.Say(StatusCodes.Status409Conflict, trouble),
            { Outcome: null, From: null } => Refusals.Say(StatusCodes.Status409Conflict, T("There is no earlier version to hold it against.")),
            { Outcome: null, StoppedAt: not null } => Refusals.Say(StatusCodes.Status409Conflict, T("Comparing them was stopped. Compare them again to have what changed.")),
            { Outcome: null } or { IsAsked: true } => Results.Json(new { state = "comparing" }, statusCode: StatusCodes.Status202Accepted),
            { Outcome: { } outcome } => Results.Json(outcome),
        };
}
