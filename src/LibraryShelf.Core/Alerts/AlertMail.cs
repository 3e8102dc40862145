using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;

namespace LibraryShelf.Core.Alerts;

/// <summary>The words of the mail about a case.</summary>
internal static class AlertMail
{
    public static (string Subject, string Text) Write(Alert alert, Shop? shop, string? shelfAddress)
    {
        var name = MailWords.ShopName(shop);
        var where = shelfAddress is null
            ? T("This stands on the workbench’s first page, and goes from there by itself once it is over. You get one mail about it.")
            : T($"This stands on the workbench’s first page, {shelfAddress}/workbench, and goes from there by itself once it is over. You get one mail about it.");
        return ($"{name}: {AlertWords.Title(alert.Kind)}", $"{alert.Words}\n\n{where}" + MailWords.Foot(shop));
    }
}
