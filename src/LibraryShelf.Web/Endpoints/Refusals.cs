namespace LibraryShelf.Web.Endpoints;

/// <summary>What a machine endpoint says when it can't: a status and <c>{"message", "path"}</c>, in words fit to show.</summary>
internal static class Refusals
{
    public sealed record Body(string Message, string? Path);

    public static IResult Say(int status, string message, string? path = null) =>
        Results.Json(new Body(message, string.IsNullOrEmpty(path) ? null : path), statusCode: status);

    public static IResult NoSuchRelease() =>
        Say(StatusCodes.Status404NotFound, T("There is no such version on this shelf. Nothing was altered."));
}
