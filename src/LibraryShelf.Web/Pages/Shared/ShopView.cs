using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Web.Pages.Shared;

/// <summary>The shop as every page's frame needs it: read once a request, whoever asks first.</summary>
public sealed class ShopView(ReadShop readShop)
{
    private Task<ShopFront>? _front;

    public Task<ShopFront> GetAsync(CancellationToken cancellationToken) => _front ??= readShop.RunAsync(cancellationToken);
}
