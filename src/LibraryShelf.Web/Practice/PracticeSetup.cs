using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Setup;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Hosting.Server;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc.ApplicationModels;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Practice;

internal static class PracticeSetup
{
    /// <summary>The folder of its pages.</summary>
    private const string Pages = "/Practice";

    public const string Setting = $"{ShelfSettings.Section}:Payments:{nameof(PaymentSettings.Practice)}";

    /// <summary>The stand-in, its clock as the whole host's, and its pages; without practice mode none of it, and its pages have no address.</summary>
    public static bool AddPractice(this WebApplicationBuilder builder)
    {
        var isOn = builder.Configuration.GetValue<bool>(Setting);
        // After, because adding Razor Pages starts with an empty list of conventions.
        builder.Services.PostConfigure<RazorPagesOptions>(options =>
        {
            if (isOn) options.Conventions.AuthorizePage(Pages + "/Bench", Policies.Maker);
            else options.Conventions.AddFolderRouteModelConvention(Pages, page => page.Selectors.Clear());
        });
        if (!isOn)
            return false;
        var services = builder.Services;
        services.AddKeyedSingleton(PracticeClock.Machine, TimeProvider.System);
        services.AddSingleton(provider => new LedgerFile(Path.Combine(provider.GetRequiredService<DataPaths>().Root, "practice.json")));
        services.AddSingleton<PracticeClock>();
        services.AddSingleton<TimeProvider>(provider => provider.GetRequiredService<PracticeClock>());
        services.AddSingleton<PracticeKeys>();
        services.AddSingleton<StandIn>();
        services.AddSingleton(provider => new WayHome(provider.GetRequiredService<IServer>(), provider.GetRequiredService<IConfiguration>()));
        services.AddHostedService<SendMessages>();
        // Whoever lets months pass stays signed in: cookies, and the rows they are held against, grow old by the machine's clock.
        services.AddOptions<CookieAuthenticationOptions>(IdentityConstants.ApplicationScheme).Configure<PracticeClock>((o, clock) => o.TimeProvider = clock.Behind);
        services.AddOptions<SecurityStampValidatorOptions>().PostConfigure<PracticeClock>((o, clock) => o.TimeProvider = clock.Behind);
        services.AddScoped(provider => new SweepDevices(provider.GetRequiredService<ShelfDb>(), provider.GetRequiredService<PracticeClock>().Behind));
        return true;
    }
}
