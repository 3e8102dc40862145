using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>What one program does otherwise than before, for a song that was made with it.</summary>
internal static class ProgramChanges
{
    /// <summary>Null when it plays as before. <paramref name="path"/> and <paramref name="from"/> as in <see cref="Change"/>.</summary>
    public static Change? Compare(string path, string? from, string way, ProgramVoices old, ProgramVoices next, NoteNaming naming, List<Reason> reasons)
    {
        var keys = Enumerable.Range(0, 128).Where(k => !old.On(k).SetEquals(next.On(k))).ToList();
        var said = new List<string>();
        void Say(Bump bump, string words)
        {
            said.Add(words);
            reasons.Add(new Reason(bump, $"{(way.Length > 0 ? $"{Words.Quote(way)}: " : "")}{words}."));
        }
        void SayKeys(Bump bump, Func<int, bool> which, Func<string, string> words)
        {
            var those = Enumerable.Range(0, 128).Where(which).ToList();
            if (those.Count > 0)
                Say(bump, words(Words.Keys(those, naming)));
        }
        SayKeys(Bump.Major, k => old.IsPressed(k) && !next.IsPressed(k), k => $"nothing sounds on {k} any more");
        SayKeys(Bump.Major, k => old.IsLifted(k) && !next.IsLifted(k) && next.IsPressed(k), k => $"letting go of {k} sounds no more");
        SayKeys(Bump.Major, k => next.IsPressed(k) && old.LayersOn(k) > next.LayersOn(k), k => $"fewer layers on {k}");
        SayShifts(old, next, naming, Say);
        SayControls(Bump.Major, old.Controls.Except(next.Controls), "it listens to {0} no more", Say);
        SayKeys(Bump.Minor, k => !old.IsPressed(k) && next.IsPressed(k), k => $"{k} sounds now");
        SayKeys(Bump.Minor, k => old.IsPressed(k) && !old.IsLifted(k) && next.IsLifted(k), k => $"letting go of {k} sounds now");
        SayKeys(Bump.Minor, k => old.IsPressed(k) && old.LayersOn(k) < next.LayersOn(k), k => $"more layers on {k}");
        SayKeys(Bump.Minor, k => old.IsPressed(k) && old.TakesOn(k) < next.TakesOn(k), k => $"more takes on {k}");
        SayControls(Bump.Minor, next.Controls.Except(old.Controls), "it listens to {0} now", Say);
        if (keys.Count == 0 && said.Count == 0)
            return null;
        if (said.Count == 0)
            Say(Bump.Patch, $"{Words.Keys(keys, naming)} {(keys.Count == 1 ? "plays" : "play")} with other settings or recordings");
        return new Change(ChangeKind.Remapped, path, from, null, keys) { Words = string.Join("; ", said), Articulation = way };
    }

    /// <summary>A recording that left all its keys, or is taken for another note than before, sounds on another key.</summary>
    private static void SayShifts(ProgramVoices old, ProgramVoices next, NoteNaming naming, Action<Bump, string> say)
    {
        var (before, after) = (old.BySound, next.BySound);
        var shifted = before.Where(sound => after.Contains(sound.Key) && IsShifted([.. sound], [.. after[sound.Key]]))
            .SelectMany(sound => after[sound.Key].Select(v => v.Key)).Distinct().Order().ToList();
        if (shifted.Count > 0)
            say(Bump.Major, $"what sounded elsewhere sounds on {Words.Keys(shifted, naming)}");
    }

    private static bool IsShifted((int Key, int Center)[] before, (int Key, int Center)[] after) =>
        !before.Select(v => v.Key).Intersect(after.Select(v => v.Key)).Any()
        || !before.Select(v => v.Center).Intersect(after.Select(v => v.Center)).Any();

    private static void SayControls(Bump bump, IEnumerable<int> controls, string words, Action<Bump, string> say)
    {
        var those = controls.Order().ToList();
        if (those.Count > 0)
            say(bump, string.Format(System.Globalization.CultureInfo.InvariantCulture, words, $"controller{(those.Count > 1 ? "s" : "")} {string.Join(", ", those)}"));
    }
}
