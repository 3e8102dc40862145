using LibraryShelf.Adapters.Payments;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Practice;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

internal static class PaymentSetup
{
    /// <summary>
    /// Stripe with the key that is set; in practice mode the same client with the stand-in on this machine; with neither, joining is closed and says so.
    /// </summary>
    public static void AddShelfPayments(this WebApplicationBuilder builder)
    {
        Func<IServiceProvider, IPayments> provider = builder.AddPractice() ? Practising : Stripe;
        builder.Services.AddSingleton<IPayments>(services => new HeldPayments(provider(services), services.GetRequiredService<IDbContextFactory<ShelfDb>>()));
        builder.Services.AddSingleton<MessageDesk>();
        builder.Services.AddHostedService(services => services.GetRequiredService<MessageDesk>());
    }

    private static StripePayments Stripe(IServiceProvider services)
    {
        var payments = services.GetRequiredService<IOptions<ShelfSettings>>().Value.Payments;
        return new StripePayments(
            new StripeAccess(payments.Key, payments.MessageSecret, ApiBase: null, IsPractice: false, payments.ComputeTax), services.GetRequiredService<TimeProvider>());
    }

    private static StripePayments Practising(IServiceProvider services)
    {
        var keys = services.GetRequiredService<PracticeKeys>();
        var access = new StripeAccess(keys.Key, keys.MessageSecret, new Uri(WayHome.Somewhere, PracticePlaces.Root).AbsoluteUri, IsPractice: true);
        return new StripePayments(access, services.GetRequiredService<TimeProvider>(), services.GetRequiredService<WayHome>().Open());
    }
}
