namespace LibraryShelf.Web.Setup;

internal static class MailSetup
{
    public static void AddShelfMail(this WebApplicationBuilder builder) => ArgumentNullException.ThrowIfNull(builder);
}
