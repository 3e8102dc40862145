using LibraryShelf.Adapters.Payments;
using LibraryShelf.Core.Payments;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

internal static class PaymentSetup
{
    /// <summary>Stripe with the key that is set, or without any: then joining is closed, and says so.</summary>
    public static void AddShelfPayments(this WebApplicationBuilder builder)
    {
        builder.Services.AddSingleton<IPayments>(services =>
        {
            var payments = services.GetRequiredService<IOptions<ShelfSettings>>().Value.Payments;
            return new StripePayments(
                new StripeAccess(payments.Key, payments.MessageSecret, ApiBase: null, IsPractice: false), services.GetRequiredService<TimeProvider>());
        });
        builder.Services.AddSingleton<MessageDesk>();
        builder.Services.AddHostedService(services => services.GetRequiredService<MessageDesk>());
    }
}
