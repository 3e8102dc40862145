namespace LibraryShelf.Web.Setup;

internal static class AccountSetup
{
    public static void AddShelfAccounts(this WebApplicationBuilder builder)
    {
        builder.Services.AddAuthentication();
        builder.Services.AddAuthorization();
    }
}
