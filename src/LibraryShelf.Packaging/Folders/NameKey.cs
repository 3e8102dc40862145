using System.Text;

namespace LibraryShelf.Packaging.Folders;

/// <summary>
/// What a path comes to on a system that ignores case and the way accents are spelled: two paths with one key can't stand in the
/// same folder on Windows, macOS or a Linux file system that ignores case. Case is folded in full, as the last of these do (so ß and SS are one),
/// which names more pairs than NTFS, that folds letter by letter, would: better one too many than a file lost in unzipping.
/// </summary>
public static class NameKey
{
    /// <summary>Unicode's CaseFolding.txt, status F: those letters that become several and do not come apart by decomposing. Its other lines do, and fold so.</summary>
    private static readonly Dictionary<char, string> Several = new()
    {
        ['\u00DF'] = "ss", ['\u0149'] = "\u02BCn", ['\u0587'] = "\u0565\u0582", ['\u1E9A'] = "a\u02BE",
        ['\u1E9E'] = "ss", ['\uFB00'] = "ff", ['\uFB01'] = "fi", ['\uFB02'] = "fl",
        ['\uFB03'] = "ffi", ['\uFB04'] = "ffl", ['\uFB05'] = "st", ['\uFB06'] = "st",
        ['\uFB13'] = "\u0574\u0576", ['\uFB14'] = "\u0574\u0565", ['\uFB15'] = "\u0574\u056B", ['\uFB16'] = "\u057E\u0576",
        ['\uFB17'] = "\u0574\u056D",
    };

    /// <summary>Spelling in some scripts and in joined pictures, and unseen elsewhere: a name with one is told apart by no reader.</summary>
    private const char NonJoiner = '\u200C', Joiner = '\u200D';

    public static string Of(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        // Folding once more after decomposing catches letters whose capital decomposes otherwise.
        return UnicodeForms.Decompose(InFull(UnicodeForms.Decompose(path)).ToUpperInvariant().ToLowerInvariant());
    }

    private static string InFull(string path)
    {
        if (Ascii.IsValid(path))
            return path;
        var folded = new StringBuilder(path.Length);
        foreach (var letter in path.Where(c => c is not (NonJoiner or Joiner)))
        {
            if (Several.TryGetValue(letter, out var several))
                folded.Append(several);
            else
                folded.Append(letter);
        }
        return folded.ToString();
    }
}
