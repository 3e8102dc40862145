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
        SayKeys(Bump.Major, k => old.IsPressed(k) && !next.IsPressed(k), k => T($"nothing sounds on {k} any more"));
        SayKeys(Bump.Major, k => old.IsLifted(k) && !next.IsLifted(k) && next.IsPressed(k), k => T($"letting go of {k} sounds no more"));
        SayKeys(Bump.Major, k => next.IsPressed(k) && old.LayersOn(k) > next.LayersOn(k), k => T($"fewer layers on {k}"));
        SayKeys(Bump.Major, k => (old.SteadyOn(k) & ~next.SteadyOn(k) & next.VelocitiesOn(k)) != 0, k => T($"some strokes on {k} sound nothing"));
        new SoundChanges(old.Played, next.Played, naming, Say).Say();
        ProgramControls.Say(old.Controls, next.Controls, next.Played.AllKeys, naming, Say);
        new SituationChanges(old.Played, next.Played, naming, Say).Say(KeySet.Of(Enumerable.Range(0, 128).Where(k => !next.IsPressed(k))));
        SayKeys(Bump.Minor, k => !old.IsPressed(k) && next.IsPressed(k), k => T($"{k} sounds now"));
        SayKeys(Bump.Minor, k => old.IsPressed(k) && !old.IsLifted(k) && next.IsLifted(k), k => T($"letting go of {k} sounds now"));
        SayKeys(Bump.Minor, k => old.IsPressed(k) && old.LayersOn(k) < next.LayersOn(k), k => T($"more layers on {k}"));
        SayKeys(Bump.Minor, k => old.IsPressed(k) && old.TakesOn(k) < next.TakesOn(k), k => T($"more takes on {k}"));
        if (keys.Count == 0 && said.Count == 0 && old.Settings == next.Settings)
            return null;
        if (said.Count == 0 && keys.Count == 0)
            Say(Bump.Patch, T("it has other settings"));
        else if (said.Count == 0)
            Say(Bump.Patch, keys.Count == 1
                ? T($"{Words.Keys(keys, naming)} plays with other settings or recordings")
                : T($"{Words.Keys(keys, naming)} play with other settings or recordings"));
        return new Change(ChangeKind.Remapped, path, from, null, keys) { Words = string.Join("; ", said), Articulation = way };
    }
}
