using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>
/// What an old song hears no more, or hears another way of playing instead: both programs are held against each other in every situation that the
/// older one distinguishes (after each switch key, with each range of a controller and so on), and what is new in those of the newer one.
/// </summary>
internal sealed class SituationChanges(PlayedProgram old, PlayedProgram next, NoteNaming naming, Action<Bump, string> say)
{
    /// <summary>A mapping from anywhere may hold a hundred thousand gates: so much looking is enough for those that people make.</summary>
    private const int MostLooks = 4_000_000, MostSituations = 256;

    private readonly Dictionary<UInt128, List<string>> chosenOtherwise = [], chosenNoMore = [];

    /// <summary>Says nothing of keys that <paramref name="silent"/> holds: of those it is said that nothing sounds on them.</summary>
    public void Say(UInt128 silent)
    {
        SayNoteThatSwitches();
        var (lost, lostLifts) = (new UInt128[128], new UInt128[128]);
        var atRest = PlayedProgram.SoundsOf(old.In(Situation.Rest));
        var nextAtRest = PlayedProgram.SoundsOf(next.In(Situation.Rest));
        var anywhere = PlayedProgram.SoundsOf([.. next.Parts]);
        foreach (var situation in old.Situations(Most(old, next)))
        {
            var (before, after) = (old.In(situation), next.In(situation));
            SayLost(situation, before, after, isLift: false, lost, silent, isGain: false);
            SayLost(situation, before, after, isLift: true, lostLifts, silent | ~LiftKeys(next), isGain: false);
            NoteChoices(situation, PlayedProgram.SoundsOf(before), PlayedProgram.SoundsOf(after), atRest, nextAtRest, anywhere);
        }
        // Where the newer one newly asks for a controller's or a channel's value, a song that stands beyond it may hear nothing.
        foreach (var situation in next.Beyond(Most(old, next)))
        {
            var (before, after) = (old.In(situation), next.In(situation));
            SayLost(situation, before, after, isLift: false, lost, silent, isGain: false);
            SayLost(situation, before, after, isLift: true, lostLifts, silent | ~LiftKeys(next), isGain: false);
        }
        SayChoices(chosenOtherwise, (places, keys) => T($"{places}: another way of playing sounds on {keys}"));
        SayChoices(chosenNoMore, (places, keys) => T($"{places}: the way of playing chosen so is there no more on {keys}"));
        SayGained();
    }

    private static int Most(PlayedProgram a, PlayedProgram b) => Math.Clamp(MostLooks / Math.Max(1, a.Parts.Count + b.Parts.Count), 8, MostSituations);

    private static UInt128 LiftKeys(PlayedProgram program) => program.Parts.Where(p => p.IsLift).Aggregate(UInt128.Zero, (keys, p) => keys | p.Keys);

    private void SayNoteThatSwitches()
    {
        var keys = KeySet.Keys(next.SwitchKeys & ~old.SwitchKeys & old.AllKeys);
        if (keys.Count > 0)
            say(Bump.Major, keys.Count == 1
                ? T($"{Words.Keys(keys, naming)}, which sounded a note, chooses a way of playing now")
                : T($"{Words.Keys(keys, naming)}, which sounded a note, choose a way of playing now"));
    }

    /// <summary>Velocities of <paramref name="had"/> that <paramref name="has"/> lacks; what was said of one situation is not said of the next.</summary>
    private void SayLost(
        Situation situation, List<PlayedPart> had, List<PlayedPart> has, bool isLift, UInt128[] said, UInt128 silent, bool isGain)
    {
        var (before, after) = (PlayedProgram.VelocitiesOf(had, isLift), PlayedProgram.VelocitiesOf(has, isLift));
        var (wholly, partly) = (new List<int>(), new List<int>());
        for (var key = 0; key < 128; key++)
        {
            var gone = before[key] & ~after[key] & ~said[key];
            if (gone == 0 || KeySet.Has(silent, key))
                continue;
            said[key] |= gone;
            (after[key] == 0 ? wholly : partly).Add(key);
        }
        var (bump, sentences) = (isGain ? Bump.Minor : Bump.Major, new SituationSentences(situation.Words(naming), isLift, isGain));
        if (wholly.Count > 0)
            say(bump, sentences.OfWholeKeys(Words.Keys(wholly, naming), isOne: wholly.Count == 1));
        if (partly.Count > 0)
            say(bump, sentences.OfSomeVelocities(Words.Keys(partly, naming)));
    }

    /// <summary>
    /// Nothing of what a key sounded is there in the same situation, but something of it in another: it is chosen otherwise. Or the situation had
    /// sounds of its own, and now it has what sounds at rest: they are chosen no more. Its own may be all, or what comes beside what sounds at rest.
    /// </summary>
    private void NoteChoices(
        Situation situation, Dictionary<string, UInt128> before, Dictionary<string, UInt128> after,
        Dictionary<string, UInt128> atRest, Dictionary<string, UInt128> nextAtRest, Dictionary<string, UInt128> anywhere)
    {
        var where = situation.Words(naming);
        var sounding = Union(after);
        var own = before.ToDictionary(s => s.Key, s => s.Value & ~atRest.GetValueOrDefault(s.Key), StringComparer.Ordinal);
        Note(chosenOtherwise, (Moved(before, after, anywhere) | Moved(own, after, anywhere)) & sounding, where.Length > 0 ? where : SituationSentences.AtRest);
        var nextOwn = Union(after.ToDictionary(s => s.Key, s => s.Value & ~nextAtRest.GetValueOrDefault(s.Key), StringComparer.Ordinal));
        var left = Union(own.ToDictionary(s => s.Key, s => s.Value & (after.GetValueOrDefault(s.Key) | anywhere.GetValueOrDefault(s.Key)), StringComparer.Ordinal));
        Note(chosenNoMore, Union(own) & ~left & sounding & ~nextOwn, where);
    }

    /// <summary>Keys of which nothing is kept in <paramref name="after"/>, and something sounds <paramref name="anywhere"/> else.</summary>
    private static UInt128 Moved(Dictionary<string, UInt128> before, Dictionary<string, UInt128> after, Dictionary<string, UInt128> anywhere)
    {
        UInt128 kept = 0, elsewhere = 0;
        foreach (var (sound, keys) in before)
        {
            kept |= keys & after.GetValueOrDefault(sound);
            elsewhere |= keys & ~after.GetValueOrDefault(sound) & anywhere.GetValueOrDefault(sound);
        }
        return elsewhere & ~kept;
    }

    private static UInt128 Union(Dictionary<string, UInt128> sounds) => sounds.Values.Aggregate(UInt128.Zero, (keys, k) => keys | k);

    private static void Note(Dictionary<UInt128, List<string>> noted, UInt128 keys, string where)
    {
        if (keys == 0)
            return;
        if (!noted.TryGetValue(keys, out var places))
            noted[keys] = places = [];
        if (!places.Contains(where))
            places.Add(where);
    }

    private void SayChoices(Dictionary<UInt128, List<string>> noted, Func<string, string, string> words)
    {
        foreach (var (keys, places) in noted)
            say(Bump.Major, words(Words.Some(places), Words.Keys(KeySet.Keys(keys), naming)));
    }

    private void SayGained()
    {
        var (gained, gainedLifts) = (new UInt128[128], new UInt128[128]);
        var silent = ~old.AllKeys;
        foreach (var situation in next.Situations(Most(old, next)))
        {
            var (before, after) = (old.In(situation), next.In(situation));
            SayLost(situation, after, before, isLift: false, gained, silent, isGain: true);
            SayLost(situation, after, before, isLift: true, gainedLifts, silent | ~LiftKeys(old), isGain: true);
        }
        var keys = KeySet.Keys(next.SwitchKeys & ~old.SwitchKeys);
        if (keys.Count > 0)
            say(Bump.Minor, keys.Count == 1 ? T($"{Words.Keys(keys, naming)} is a switch key now") : T($"{Words.Keys(keys, naming)} are switch keys now"));
    }
}
