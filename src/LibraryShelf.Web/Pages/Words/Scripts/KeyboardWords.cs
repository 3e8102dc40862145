using static LibraryShelf.Web.Pages.Words.Scripts.ScriptWords;

namespace LibraryShelf.Web.Pages.Words.Scripts;

/// <summary>js/listen.js, and js/keyboard.js and js/keyboard-sounds.js that it fetches when the keyboard is asked for.</summary>
internal static class KeyboardWords
{
    public static string Json => ScriptWords.Json(WithSizes(new()
    {
        ["begun"] = T("Loading the keyboard."),
        ["loading"] = T($"Loading the keyboard: {First} of {Second}."),
        ["ready"] = T("The keyboard is ready."),
        ["stopped"] = T("You stopped it before anything came. Load the keyboard whenever you like; everything else on the page works without it."),
        ["stopped-at"] = T($"You stopped it at {First} of {Second}. Nothing of that is kept. Load the keyboard whenever you like; everything else on the page works without it."),
        ["failed"] = T($"The keyboard could not be loaded: {First}. Everything else on the page works as before. Try again."),
        ["answered"] = T($"the shelf answered {First}"),
        ["too-much"] = T("more came than was announced"),
        ["broken"] = T("it broke off"),
        ["how-hard"] = T("How hard"),
        ["soft"] = T("Soft"),
        ["medium"] = T("Medium"),
        ["firm"] = T("Firm"),
        ["hard"] = T("Hard"),
        ["way"] = T("Way of playing"),
        ["plain"] = T("plain"),
        ["some-ways"] = T($"{First} of its {Second} ways of playing can be played here."),
        ["stop"] = T("Stop all sound"),
        ["volume"] = T("Volume"),
        ["lower"] = T("Lower"),
        ["higher"] = T("Higher"),
        ["keys"] = T($"Keyboard, {First} to {Second}"),
        ["how"] = T($"{First} to {Second}."),
        ["takes"] = T("Each press plays the next take where there are several."),
        ["letters"] = T($"While the keyboard is in focus, the letter keys {First} play, and arrows go from key to key."),
        ["letter-rows"] = T("While the keyboard is in focus, the two upper rows of letter keys play, and arrows go from key to key."),
        ["midi"] = T("Use a MIDI keyboard"),
        ["midi-plays"] = T($"{First} plays here."),
        ["midi-none"] = T("No MIDI keyboard is connected. Connect one: it plays at once."),
        ["midi-refused"] = T("The browser did not give access to MIDI keyboards. Pointer and letter keys play as before."),
    }));
}
