using LibraryShelf.Adapters.Mail;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

internal static class MailSetup
{
    /// <summary>A mail server when one is set, else the outbox folder.</summary>
    public static void AddShelfMail(this WebApplicationBuilder builder)
    {
        builder.Services.AddSingleton<OutboxFolder>();
        builder.Services.AddSingleton<OutboxFolderMailer>();
        builder.Services.AddSingleton<SmtpMailer>();
        builder.Services.AddSingleton<IMailer>(services =>
            services.GetRequiredService<IOptions<ShelfSettings>>().Value.Mail.SmtpHost.Length > 0
                ? services.GetRequiredService<SmtpMailer>()
                : services.GetRequiredService<OutboxFolderMailer>());
    }
}
