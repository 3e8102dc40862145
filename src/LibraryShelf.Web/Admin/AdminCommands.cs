using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Downloads;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Web.Setup;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Admin;

/// <summary>Runs one verb and says what it came to: an exit code and words.</summary>
internal delegate Task<(int Code, string Words)> AdminCommand(IServiceProvider services);

/// <summary>Every command of `shelf-admin`: each calls one Core class and puts its outcome into words.</summary>
internal static class AdminCommands
{
    private const string RemovePasskeys = "--remove-passkeys";

    /// <summary>Whether these words are for a shelf that is there: all but the restoring of one that is not.</summary>
    public static bool NeedShelf(AdminArguments arguments) => arguments.Words is not ["restore", ..];

    /// <returns>Null when the words are no command, or carry one word or flag too many.</returns>
    public static AdminCommand? Find(AdminArguments arguments) => (arguments.Words, arguments.Flags) switch
    {
        (["recover", var email], []) => services => RecoverAsync(services, email, removePasskeys: false),
        (["recover", var email], [RemovePasskeys]) => services => RecoverAsync(services, email, removePasskeys: true),
        (["offer-claim"], []) => OfferClaimAsync,
        (["rotate-link-key"], []) => RotateLinkKeyAsync,
        (["restore"], var flags) when RestoreCommand.Understands(flags) => services => RestoreCommand.RunAsync(services, name: null, flags),
        (["restore", var name], var flags) when RestoreCommand.Understands(flags) => services => RestoreCommand.RunAsync(services, name, flags),
        _ => null,
    };

    private static async Task<(int, string)> RecoverAsync(IServiceProvider services, string email, bool removePasskeys) =>
        await services.GetRequiredService<OfferRecovery>().RunAsync(email, removePasskeys, CancellationToken.None) switch
        {
            OfferRecoveryOutcome.Offered offered => (AdminProgram.Done, $"""
                Choose a new password here, once, within {OfferRecovery.Works.TotalMinutes} minutes: {Address(services)}/workbench/recover/{offered.Token}
                The maker is signed out everywhere within a minute. Her old password works until she chooses the new one.
                {(removePasskeys ? $"Removed: {Plural.Of(offered.PasskeysRemoved, "passkey")}." : $"Her passkeys still work; {RemovePasskeys} removes them.")} Upload tokens still work: look at them under Tokens.
                """),
            OfferRecoveryOutcome.NoMaker => (AdminProgram.NotDone, "This shelf has no maker yet, so there is nobody to recover. Nothing was done. Have her claim it: shelf-admin offer-claim"),
            _ => (AdminProgram.NotDone, $"The maker of this shelf does not sign in with {email}. Nothing was done. Type the address she signs in with."),
        };

    private static async Task<(int, string)> OfferClaimAsync(IServiceProvider services) =>
        await services.GetRequiredService<OfferClaim>().RunAsync(CancellationToken.None) is { } token
            ? (AdminProgram.Done, $"Claim the shelf here, once, within {OfferClaim.Works.TotalHours} hours: {Address(services)}/workbench/claim/{token}\nLinks printed before work no more.")
            : (AdminProgram.NotDone, "This shelf has a maker already. Nothing was done. If she lost her way in: shelf-admin recover EMAIL");

    private static async Task<(int, string)> RotateLinkKeyAsync(IServiceProvider services) => (AdminProgram.Done,
        $"Links made from now on are signed with key {await services.GetRequiredService<RotateLinkKey>().RunAsync(CancellationToken.None)}. "
        + "Links already made, and downloads under way, go on until their time is over.");

    private static string Address(IServiceProvider services)
    {
        var configuration = services.GetRequiredService<IConfiguration>();
        return PublicAddress.AtTheServer(services.GetRequiredService<IOptions<ShelfSettings>>().Value, configuration["Urls"]?.Split(';')[0]);
    }
}
