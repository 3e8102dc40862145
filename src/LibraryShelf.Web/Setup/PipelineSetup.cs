using Microsoft.AspNetCore.StaticFiles;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Setup;

internal static class PipelineSetup
{
    /// <summary>Own files only, nothing inline, no frames; forms post home.</summary>
    private const string ContentSecurityPolicy =
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; font-src 'self'; connect-src 'self'; "
        + "media-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'";

    private static readonly PathString[] MachineDoors = ["/uploads", "/api", "/get", "/health"];

    public static void UseShelfPipeline(this WebApplication app)
    {
        // The handler of faults clears the headers and runs what follows once more, so it stands before them.
        app.UseExceptionHandler("/trouble/500");
        app.Use(SetSafetyHeaders);
        app.UseWhen(IsForReaders, pages => pages.UseStatusCodePagesWithReExecute("/trouble/{0}"));
        app.UseStaticFiles(new StaticFileOptions { ContentTypeProvider = ContentTypes(), OnPrepareResponse = SetCaching });
        app.UseRouting();
        app.UseRateLimiter();
        app.UseAuthentication();
        app.UseAuthorization();
        app.UseAntiforgery();
    }

    /// <summary>A person looking at a page gets words with an error; clients of the other doors get the bare answer they understand.</summary>
    private static bool IsForReaders(HttpContext context) =>
        (HttpMethods.IsGet(context.Request.Method) || HttpMethods.IsPost(context.Request.Method))
        && !Array.Exists(MachineDoors, door => context.Request.Path.StartsWithSegments(door, StringComparison.Ordinal));

    private static Task SetSafetyHeaders(HttpContext context, RequestDelegate next)
    {
        var headers = context.Response.Headers;
        headers.ContentSecurityPolicy = ContentSecurityPolicy;
        headers.XContentTypeOptions = "nosniff";
        // Addresses here carry sign-in tokens and signed links: they are not told to other sites.
        headers["Referrer-Policy"] = "same-origin";
        headers["Cross-Origin-Opener-Policy"] = "same-origin";
        return next(context);
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
