using LibraryShelf.Core.Accounts;

namespace LibraryShelf.Web.Setup;

/// <summary>Chooses what people read, before anything is said: the setting Shelf:Language names a file in the folder “languages”.</summary>
internal static class LanguageSetup
{
    public const string Setting = "Shelf:Language", DefaultTag = "en";

    /// <summary>
    /// The data directory's own languages first, so that a file put there needs no new program; then those that came with it. The starting texts are in a folder of the same name
    /// beside the file.
    /// </summary>
    /// <returns>False: there is no such file, or it can't be read; standard error says which and why.</returns>
    public static bool SpeakShelfLanguage(this IConfiguration settings)
    {
        var tag = settings[Setting] is { Length: > 0 } chosen ? chosen : DefaultTag;
        if (tag == DefaultTag)
        {
            Say.Speak(null);
            StartingTexts.Speak(StartingTexts.English);
            return true;
        }
        if (!tag.All(c => char.IsAsciiLetterOrDigit(c) || c == '-'))
            return Refuse($"{Setting} is “{tag}”, which is no language tag, such as “de”.");
        string[] folders = [Path.Combine(settings["Shelf:DataDirectory"] ?? "", "languages"), Path.Combine(AppContext.BaseDirectory, "languages")];
        if (folders.Select(f => Path.Combine(f, tag + ".json")).FirstOrDefault(File.Exists) is not { } path)
            return Refuse($"{Setting} is “{tag}”, but there is no {tag}.json in {string.Join(" or ", folders)}.");
        var read = path;
        try
        {
            using var file = File.OpenRead(path);
            var language = Language.Read(file);
            if (DayPatterns.WhyWrong(language) is { } wrong)
                return Refuse($"{path} can’t be read. {wrong}");
            StartingTexts.Speak(StartingTexts.Read(read = Path.ChangeExtension(path, null)));
            Say.Speak(language);
            return true;
        }
        catch (Exception fault) when (fault is FormatException or IOException or UnauthorizedAccessException)
        {
            return Refuse($"{read} can’t be read. {fault.Message}");
        }
    }

    private static bool Refuse(string why)
    {
        Console.Error.WriteLine($"{why} Nothing was started. Put it right, or leave {Setting} away: then the shelf speaks English.");
        return false;
    }
}
