using Microsoft.AspNetCore.StaticFiles;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Setup;

internal static class PipelineSetup
{
    private static readonly PathString[] MachineDoors = ["/uploads", "/api", "/get", "/health"];

    public static void UseShelfPipeline(this WebApplication app)
    {
        app.UseExceptionHandler("/trouble/500");
        app.UseCookiePolicy(CookieRules.For(app.Services));
        app.UseWhen(IsForReaders, pages => pages.UseStatusCodePagesWithReExecute("/trouble/{0}"));
        app.UseStaticFiles(new StaticFileOptions { ContentTypeProvider = ContentTypes(), OnPrepareResponse = SetCaching });
        app.UseRouting();
        app.UseAuthentication();
        // After, because some doors count by person.
        app.UseRateLimiter();
        app.UseAuthorization();
        app.UseAntiforgery();
    }

    /// <summary>A person looking at a page gets words with an error; clients of the other doors get the bare answer they understand.</summary>
    private static bool IsForReaders(HttpContext context) =>
        (HttpMethods.IsGet(context.Request.Method) || HttpMethods.IsPost(context.Request.Method))
        && !Array.Exists(MachineDoors, door => context.Request.Path.StartsWithSegments(door, StringComparison.Ordinal));

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
