using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

internal static class SettingsSetup
{
    /// <summary>The practice shop: invented data in a folder of its own, chosen by the bare word --demo.</summary>
    public const string DemoSwitch = "--demo";

    public static void AddShelfSettings(this WebApplicationBuilder builder)
    {
        builder.Services.AddOptions<ShelfSettings>()
            .Bind(builder.Configuration.GetSection(ShelfSettings.Section))
            .ValidateOnStart();
        builder.Services.AddSingleton<IValidateOptions<ShelfSettings>, SettingsCheck>();
        builder.Services.AddSingleton(TimeProvider.System);
        builder.Services.AddSingleton(services => new DataPaths(
            services.GetRequiredService<IOptions<ShelfSettings>>().Value.DataDirectory));
    }
}
