using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>The pages whose words are the maker's: terms, privacy, licence, how to reach her.</summary>
public sealed class ShopTextModel(ReadShopTexts readTexts) : PageModel
{
    public ShopTexts Texts { get; private set; } = null!;

    /// <summary>What the licence comes to: in the maker's words, or of the one that shops begin with in the shelf's; null: nobody says it.</summary>
    public string? InShort => Texts.LicenceInShort is { Length: > 0 } own ? own : StartingTexts.Plain(Texts.Licence);

    /// <summary>A contact that can be a mail link: one address and nothing else.</summary>
    public string? MailTo => Texts.Contact.Trim() is { Length: > 2 } contact && contact.IndexOf('@', StringComparison.Ordinal) > 0
        && !contact.Any(char.IsWhiteSpace) ? "mailto:" + Uri.EscapeDataString(contact).Replace("%40", "@", StringComparison.Ordinal) : null;

    public async Task OnGetAsync(CancellationToken cancellationToken) => Texts = await readTexts.RunAsync(cancellationToken);
}
