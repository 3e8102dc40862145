namespace LibraryShelf.Web.Pages.Words.Scripts;

/// <summary>js/passkey.js, on each form with data-passkey.</summary>
internal static class PasskeyWords
{
    public static string Json => ScriptWords.Json(new()
    {
        ["unsupported"] = T("This browser can’t use passkeys here: they need a recent browser, and the shelf’s own name over https. The password works as ever."),
        ["cancelled"] = T("The passkey was not used: it was cancelled, took too long, or this device has none for this shelf. Nothing was changed. Try again, or use the password."),
        ["known"] = T("This device has a passkey for this shelf already. Nothing was changed."),
        ["failed"] = T("The shelf could not be asked for a passkey. Nothing was changed. Load the page again, or use the password."),
    });
}
