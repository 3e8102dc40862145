using static LibraryShelf.Web.Pages.Words.Scripts.ScriptWords;

namespace LibraryShelf.Web.Pages.Words.Scripts;

/// <summary>js/which-version.js, and js/which-version-answer.js and js/read-zip.js that it uses.</summary>
internal static class WhichVersionWords
{
    public static string Json => ScriptWords.Json(WithSizes(new()
    {
        ["file"] = ScriptWords.Noun("file", "files"),
        ["looking"] = T("Looking at what you chose."),
        ["reading"] = T($"Reading file {First} of {Second}."),
        ["stopped"] = T("Stopped."),
        ["no-list"] = T("The list of versions could not be fetched. Look at the connection and load this page again."),
        ["no-files"] = T("There are no files in it. Choose the folder that holds the recordings."),
        ["unreadable"] = T($"{First} can’t be read. Look whether it is still there, then choose the folder again."),
        ["failed"] = T("Something went wrong while reading. Nothing was altered. Choose the folder again."),
        ["no-https"] = T("Browsers compute fingerprints of files only on https. Ask the maker for the shelf’s https address, or use one of the ways below."),
        ["zip-none"] = T("This is not a .zip, or its end is missing. Was the download finished?"),
        ["zip-cut"] = T("The .zip’s own list can’t be read: it is damaged or cut off."),
        ["zip-list"] = T("The .zip’s own list can’t be read: it is damaged."),
        ["zip-end"] = T("The .zip’s end is damaged."),
        ["zip-at"] = T($"The .zip is damaged at {First}."),
        ["zip-packed"] = T("This .zip was packed by another program. Unzip it and choose the folder."),
        ["none"] = T($"None of these files is from {First}"),
        ["choose"] = T("Choose the folder that was unzipped from this box, or the folder above it."),
        ["is"] = T($"This is {First} {Second}"),
        ["nearest"] = T($"This is nearest to {First} {Second}"),
        ["as-packed-one"] = T("Its one file is as it was packed."),
        ["as-packed"] = T($"All {First} are as they were packed."),
        ["altered"] = T($"{First} not as packed"),
        ["missing"] = T($"{First} missing"),
        ["renamed"] = T($"{First} under another name"),
        ["renamed-file"] = T($"{First}: here {Second}"),
        ["left-over"] = T($"{First} left over from another version; they may be deleted"),
        ["own"] = T($"{First} of your own; that is no fault"),
        ["more"] = T($"and {First} more"),
        ["withdrawn"] = T($"The maker has withdrawn {First}. {Second}"),
        ["update"] = T($"This is the update of {First} from {Second} to {Third}"),
        ["update-unknown"] = T($"The shelf tells nothing of {First} to you, so its files can’t be held against that version."),
        ["update-exact-one"] = T($"The one file in it is as it should be. Unzip it over the folder of {First}, or use shelf update."),
        ["update-exact"] = T($"All {First} in it are as they should be. Unzip it over the folder of {Second}, or use shelf update."),
        ["update-altered"] = T($"{First} not as {Second} has them"),
        ["again"] = T("Fetch it again from the box"),
        ["latest-is"] = T($"The latest is {First}. What differs between the two is about {Second}."),
        ["is-latest-broken"] = T($"This is the latest version. What is altered or missing here is about {First}."),
        ["is-latest"] = T("This is the latest version."),
        ["to-box"] = T("To the box"),
        ["loose"] = T($"In {First} {Second}"),
        ["loose-mixed"] = T("Not all from one version"),
        ["loose-in"] = T($"{First}: {Second}, in {Third}"),
        ["loose-unknown"] = T($"{First}: in no version, or altered"),
        ["loose-why"] = T("Single files can be in several versions. To know which one you have, choose the whole folder."),
    }));
}
