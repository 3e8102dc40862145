using LibraryShelf.Core.Storage;
using LibraryShelf.Web.Endpoints;
using Microsoft.AspNetCore.StaticFiles;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Setup;

internal static class PipelineSetup
{
    /// <summary>Doors whose clients read JSON.</summary>
    private static readonly PathString[] SenderDoors = ["/uploads", "/api"];

    private static readonly PathString[] MachineDoors = ["/uploads", "/api", "/get", "/health"];

    public static void UseShelfPipeline(this WebApplication app)
    {
        app.UseShelfProxy();
        app.UseExceptionHandler("/trouble/500");
        app.UseWhen(IsForSenders, doors => doors.Use(SayFullDisk));
        app.UseCookiePolicy(CookieRules.For(app.Services));
        app.UseWhen(IsForReaders, pages => pages.UseStatusCodePagesWithReExecute("/trouble/{0}"));
        app.UseWhen(IsPressed, files => files.UseResponseCompression());
        app.UseStaticFiles(new StaticFileOptions { ContentTypeProvider = ContentTypes(), OnPrepareResponse = SetCaching });
        app.UseRouting();
        app.UseAuthentication();
        // After, because some doors count by person.
        app.UseRateLimiter();
        app.UseAuthorization();
        app.UseAntiforgery();
        app.UseWhen(IsShelf, page => page.Use(page.ApplicationServices.GetRequiredService<ShelfPages>().ServeAsync));
    }

    /// <summary>What pages load, and the pictures: nothing secret is in these, which length could tell.</summary>
    private static bool IsPressed(HttpContext context) => Path.GetExtension(context.Request.Path.Value) is ".css" or ".js" or ".svg";

    private static bool IsShelf(HttpContext context) =>
        context.Request.Path == "/" && (HttpMethods.IsGet(context.Request.Method) || HttpMethods.IsHead(context.Request.Method));

    /// <summary>A person looking at a page gets words with an error; clients of the other doors get the bare answer they understand.</summary>
    private static bool IsForReaders(HttpContext context) =>
        (HttpMethods.IsGet(context.Request.Method) || HttpMethods.IsPost(context.Request.Method))
        && !Array.Exists(MachineDoors, door => context.Request.Path.StartsWithSegments(door, StringComparison.Ordinal));

    private static bool IsForSenders(HttpContext context) =>
        Array.Exists(SenderDoors, door => context.Request.Path.StartsWithSegments(door, StringComparison.Ordinal));

    /// <summary>A full disk that no step met with words of its own (the database refused): a sender hears of it and stops, where a bare fault would be tried again.</summary>
    private static async Task SayFullDisk(HttpContext context, RequestDelegate next)
    {
        try
        {
            await next(context);
        }
        catch (Exception fault) when (DiskTrouble.IsFull(fault) && !context.Response.HasStarted)
        {
            await Refusals.Say(StatusCodes.Status507InsufficientStorage,
                T("The shelf’s disk is full, so this could not be kept. What was sent before is kept. Make room on the shelf’s disk, then do the same again.")).ExecuteAsync(context);
        }
    }

    private static FileExtensionContentTypeProvider ContentTypes()
    {
        var types = new FileExtensionContentTypeProvider();
        types.Mappings[".opus"] = "audio/ogg; codecs=opus";
        types.Mappings[".flac"] = "audio/flac";
        types.Mappings[".woff2"] = "font/woff2";
        return types;
    }

    /// <summary>An address with a version (?v=…) never changes its bytes; fonts change only with their package; the rest is asked for again.</summary>
    private static void SetCaching(StaticFileResponseContext file) =>
        file.Context.Response.Headers[HeaderNames.CacheControl] =
            file.Context.Request.Query.ContainsKey("v") ? "public, max-age=31536000, immutable"
            : file.File.Name.EndsWith(".woff2", StringComparison.Ordinal) ? "public, max-age=604800"
            : "no-cache";
}
