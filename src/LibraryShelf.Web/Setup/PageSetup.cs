namespace LibraryShelf.Web.Setup;

internal static class PageSetup
{
    public static void AddShelfPages(this WebApplicationBuilder builder)
    {
        builder.Services.AddRazorPages();
        builder.Services.AddAntiforgery();
    }
}
