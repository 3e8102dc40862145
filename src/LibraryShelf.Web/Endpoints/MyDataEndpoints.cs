using LibraryShelf.Core.Persons;
using LibraryShelf.Web.Pages.Members;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Endpoints;

/// <summary>What is kept about the one who is signed in, to take along; kept by no cache.</summary>
internal static class MyDataEndpoints
{
    public static void MapMyData(this WebApplication app)
    {
        var mine = app.MapGroup("/mine").RequireAuthorization();
        mine.MapGet("/data.json", (HttpContext context, [FromServices] ReadMyData read, CancellationToken cancellationToken) =>
            FileAsync(context, read, "application/json", "json", MyDataFiles.Json, cancellationToken));
        mine.MapGet("/data.zip", (HttpContext context, [FromServices] ReadMyData read, CancellationToken cancellationToken) =>
            FileAsync(context, read, "application/zip", "zip", MyDataFiles.Zip, cancellationToken));
    }

    private static async Task<IResult> FileAsync(
        HttpContext context, ReadMyData read, string type, string extension, Func<MyData, byte[]> write, CancellationToken cancellationToken)
    {
        context.Response.Headers.CacheControl = "no-store";
        return await read.RunAsync(context.User.PersonId() ?? 0, cancellationToken) is { } data
            ? Results.File(write(data), type, $"my-data-{data.MadeAt.UtcDateTime:yyyy-MM-dd}.{extension}")
            : Results.NotFound();
    }
}
