using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>The same recordings, sounding elsewhere, at another pitch or at other velocities than in the older program.</summary>
internal sealed class SoundChanges(PlayedProgram old, PlayedProgram next, NoteNaming naming, Action<Bump, string> say)
{
    /// <summary>A quarter tone: less is a finer tuning, more another note. The house's own rule.</summary>
    private const double OtherNoteCents = 50;

    public void Say()
    {
        UInt128 moved = 0, retuned = 0, exchanged = 0;
        foreach (var sound in old.BySound.Where(s => next.BySound.Contains(s.Key)))
        {
            var (before, after) = (sound.ToList(), next.BySound[sound.Key].ToList());
            var shared = KeysOf(before) & KeysOf(after);
            if (shared == 0)
                moved |= KeysOf(after);
            else if (before.Exists(b => b.IsLift) == after.Exists(a => a.IsLift) && (VelocitiesOf(before) & VelocitiesOf(after)) == 0)
                exchanged |= shared;
            retuned |= KeySet.Of(KeySet.Keys(shared).Where(key => IsRetuned(before, after, key)));
        }
        SayOf(moved, keys => T($"what sounded elsewhere sounds on {keys}"));
        SayOf(retuned, keys => T($"the same recordings sound at another pitch on {keys}"));
        SayOf(exchanged, keys => T($"the same recordings answer to other velocities on {keys}"));
        SayOf(BentOtherwise(), keys => T($"the pitch wheel bends otherwise on {keys}"));
    }

    private void SayOf(UInt128 keys, Func<string, string> words)
    {
        if (keys != 0)
            say(Bump.Major, words(Words.Keys(KeySet.Keys(keys), naming)));
    }

    private static UInt128 KeysOf(List<PlayedPart> parts) => parts.Aggregate(UInt128.Zero, (keys, p) => keys | p.Keys);

    private static UInt128 VelocitiesOf(List<PlayedPart> parts) => parts.Aggregate(UInt128.Zero, (velocities, p) => velocities | p.Velocities);

    /// <summary>No pitch of the one is near one of the other.</summary>
    private static bool IsRetuned(List<PlayedPart> before, List<PlayedPart> after, int key)
    {
        var (left, right) = (CentsOn(before, key), CentsOn(after, key));
        for (var (i, j) = (0, 0); i < left.Count && j < right.Count;)
        {
            if (Math.Abs(left[i] - right[j]) < OtherNoteCents)
                return false;
            _ = left[i] < right[j] ? i++ : j++;
        }
        return true;
    }

    private static List<double> CentsOn(List<PlayedPart> parts, int key) =>
        [.. parts.Where(p => KeySet.Has(p.Keys, key)).Select(p => p.CentsOn(key)).Distinct().Order()];

    /// <summary>Keys on which both sound and no bend of the older program is one of the newer's.</summary>
    private UInt128 BentOtherwise()
    {
        var (before, after) = (Bends(old), Bends(next));
        var kept = before.Aggregate(UInt128.Zero, (keys, b) => keys | (b.Value & after.GetValueOrDefault(b.Key)));
        return old.AllKeys & next.AllKeys & ~kept;
    }

    private static Dictionary<(double Up, double Down), UInt128> Bends(PlayedProgram program)
    {
        var bends = new Dictionary<(double Up, double Down), UInt128>();
        foreach (var part in program.Parts)
            bends[(part.BendUp, part.BendDown)] = bends.GetValueOrDefault((part.BendUp, part.BendDown)) | part.Keys;
        return bends;
    }
}
