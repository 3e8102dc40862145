using LibraryShelf.Core.Accounts;
using Microsoft.AspNetCore.Identity;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// The ceremonies of passkeys (WebAuthn level 3), as the platform does them: it keeps each challenge in a short-lived cookie and
/// throws where none is under way; here that is an answer like any other that proves nothing.
/// </summary>
internal sealed class PasskeyDoor(SignInManager<Person> signIn, UserManager<Person> people)
{
    /// <summary>JSON for the browser: make a passkey for this person.</summary>
    public Task<string> AskToMakeAsync(Person person) => signIn.MakePasskeyCreationOptionsAsync(new PasskeyUserEntity
    {
        Id = person.Id.ToString(System.Globalization.CultureInfo.InvariantCulture), Name = person.Email!, DisplayName = person.Email!,
    });

    /// <summary>JSON for the browser: show any passkey it has for this shelf. Names nobody, so that it tells nobody's address.</summary>
    public Task<string> AskToShowAsync() => signIn.MakePasskeyRequestOptionsAsync(user: null);

    /// <summary>The passkey that the answer proves was just made; null when it proves nothing.</summary>
    public async Task<UserPasskeyInfo?> MadeAsync(string? answer)
    {
        try
        {
            return answer is { Length: > 0 } && await signIn.PerformPasskeyAttestationAsync(answer) is { Succeeded: true } proved ? proved.Passkey : null;
        }
        catch (InvalidOperationException)
        {
            return null;
        }
    }

    /// <summary>The maker whose passkey the answer proves; null when it proves none. Wrong passwords don't shut this door: nobody can guess here.</summary>
    public async Task<Person?> ShownAsync(string? answer)
    {
        try
        {
            if (answer is not { Length: > 0 } || await signIn.PerformPasskeyAssertionAsync(answer) is not { Succeeded: true } proved || !proved.User.IsMaker)
                return null;
            // Its counter and its being backed up may have changed.
            await people.AddOrUpdatePasskeyAsync(proved.User, proved.Passkey);
            return proved.User;
        }
        catch (InvalidOperationException)
        {
            return null;
        }
    }
}
