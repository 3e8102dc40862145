using System.IO.Compression;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Workbench;
using LibraryShelf.Web.Pages.Workbench.Numbers;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.ResponseCompression;

namespace LibraryShelf.Web.Setup;

internal static class PageSetup
{
    public static void AddShelfPages(this WebApplicationBuilder builder)
    {
        builder.Environment.WebRootFileProvider = new UnwatchedFiles(builder.Environment.WebRootFileProvider);
        builder.Services.AddRazorPages().AddMvcOptions(o => o.Filters.Add<UnknownHandlers>()).AddMvcOptions(TypedLines.AddTo);
        builder.Services.Configure<CookieTempDataProviderOptions>(o => o.Cookie.Name = "shelf-said");
        // First, so that it stands outside whatever else wraps the site.
        builder.Services.Insert(0, ServiceDescriptor.Transient<IStartupFilter, SafetyHeaders>());
        FormProof.AddTo(builder.Services);
        builder.Services.AddSingleton<KeptPages>();
        builder.Services.AddSingleton<ShelfPages>();
        builder.Services.AddSingleton<Pages.Shelf.SharePictures>();
        builder.Services.AddResponseCompression(o =>
        {
            o.EnableForHttps = true;
            o.MimeTypes = ["text/css", "text/javascript", "image/svg+xml"];
        });
        builder.Services.Configure<BrotliCompressionProviderOptions>(o => o.Level = CompressionLevel.Optimal);
        builder.Services.AddScoped<ShopView>();
        builder.Services.AddScoped<AlertView>();
        builder.Services.AddScoped<MemberFiguresView>();
        builder.Services.AddRouting(o => o.LowercaseUrls = true);
    }
}
