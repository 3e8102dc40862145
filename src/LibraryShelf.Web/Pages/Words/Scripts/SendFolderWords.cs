using static LibraryShelf.Web.Pages.Words.Scripts.ScriptWords;

namespace LibraryShelf.Web.Pages.Words.Scripts;

/// <summary>js/send-folder.js and js/send-view.js.</summary>
internal static class SendFolderWords
{
    public static string Json => ScriptWords.Json(WithSizes(new()
    {
        ["reading"] = T($"Reading the folder: {First} of {Second}."),
        ["sent-of-one"] = T($"{First} of {Second} on the shelf, {Third} of 1 file."),
        ["sent"] = T($"{First} of {Second} on the shelf, {Third} of {Fourth} files."),
        ["all-are-sent"] = T("This page is not on https, so the browser can’t tell which files the shelf already has: all are sent."),
        ["checking"] = T("Everything is here. Asking for the check."),
        ["stopped"] = T("Stopped when you asked. What was sent is kept."),
        ["stopped-at-once"] = T("Stopped when you asked. Nothing was sent yet. To go on, choose the folder again."),
        ["no-files"] = T("That folder holds no files. Choose the folder that holds the recordings."),
        ["unreadable"] = T($"{First} can’t be read. Nothing was sent. Look whether it is still there, then choose the folder again."),
        ["not-sent"] = T($"{First} could not be sent: the shelf can’t be reached. What was sent is kept."),
        ["unreachable"] = T("The shelf can’t be reached. What was sent is kept. Look at the connection, then go on."),
        ["signed-out"] = T("You are signed out. What was sent is kept. Sign in again in another window, then go on."),
        ["answered"] = T($"The shelf answered {First}. What was sent is kept."),
        ["failed"] = T($"Something went wrong: {First}."),
    }));
}
