using LibraryShelf.Adapters.Mail;
using LibraryShelf.Core.Letters;
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

    /// <summary>What the settings of mail don't go together with is no reason not to start, and is said.</summary>
    public static void WarnOfMail(this WebApplication app)
    {
        if (OneClick.TroubleOf(app.Services.GetRequiredService<IOptions<ShelfSettings>>().Value) is { } trouble)
            app.Logger.LogWarning("{Trouble}", trouble);
    }
}
