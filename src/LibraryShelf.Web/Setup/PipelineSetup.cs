namespace LibraryShelf.Web.Setup;

internal static class PipelineSetup
{
    public static void UseShelfPipeline(this WebApplication app)
    {
        app.UseStaticFiles();
        app.UseRouting();
        app.UseAuthentication();
        app.UseAuthorization();
        app.UseAntiforgery();
    }
}
