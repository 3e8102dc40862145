using System.Runtime.ExceptionServices;
using LibraryShelf.Audio;
using LibraryShelf.Audio.Comparing;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Comparisons;

/// <summary>
/// Finds for each recording of the newer folder the older one that it is. Bytes decide first, then samples (<see cref="RecordingFacts.SoundHash"/>), then
/// the alignment of samples; a name or a place only says where to listen first, and, where no sound is the same, whose place was taken.
/// </summary>
internal sealed class RecordingMatching
{
    /// <summary>How many older recordings one is held against at most, so that two thousand against two thousand stay thousands.</summary>
    private const int MostTried = 4;

    /// <summary>Nearer than two takes of a note commonly are, farther than a gain makes; common practice, no source.</summary>
    private const double Exchanged = 0.01;

    /// <summary>How far the peak stands over the loudest 50 ms is left by a gain as it is, dB, but for rounding.</summary>
    private const double SameCrestDb = 0.1;

    private readonly ComparedSide older, newer;
    private readonly List<RecordingPair> pairs = [];
    private readonly SortedDictionary<string, ComparedFile> gone, come;

    private RecordingMatching(ComparedSide older, ComparedSide newer)
    {
        (this.older, this.newer) = (older, newer);
        gone = Rest(older, newer);
        come = Rest(newer, older);
        pairs.AddRange(older.Files.Values.Where(f => IsRecording(f) && !gone.ContainsKey(f.Path)).Select(f => new RecordingPair(f, f, null)));
    }

    /// <summary>All pairs (unchanged ones with no kind), then what is only in the older and only in the newer folder.</summary>
    public static (IReadOnlyList<RecordingPair> Pairs, IReadOnlyCollection<ComparedFile> Removed, IReadOnlyCollection<ComparedFile> Added) Match(
        ComparedSide older, ComparedSide newer, Action<int, int>? heard, CancellationToken cancellationToken)
    {
        var matching = new RecordingMatching(older, newer);
        matching.PairEqual(f => f.Sha256, ChangeKind.Moved);
        matching.PairEqualSound();
        matching.PairAlike(heard, cancellationToken);
        matching.PairPlaces();
        return (matching.pairs, matching.gone.Values, matching.come.Values);
    }

    private static bool IsRecording(ComparedFile file) => FileKinds.Of(file.Path) == FileKind.Recording;

    private static SortedDictionary<string, ComparedFile> Rest(ComparedSide side, ComparedSide other) => new(
        side.Files.Values.Where(f => IsRecording(f) && other.Files.GetValueOrDefault(f.Path)?.Sha256 != f.Sha256).ToDictionary(f => f.Path, StringComparer.Ordinal),
        StringComparer.Ordinal);

    private void Pair(RecordingPair pair)
    {
        pairs.Add(pair);
        gone.Remove(pair.Old.Path);
        come.Remove(pair.New.Path);
    }

    private void PairEqualSound() =>
        PairEqual(f => (older.FactsOf(f) ?? newer.FactsOf(f)) is { Frames: > 0, SoundHash: { Length: > 0 } sound } ? sound : null, ChangeKind.Retagged);

    /// <summary>Of several that are equal the one at the same path, else of the same file name, else the first.</summary>
    private void PairEqual(Func<ComparedFile, string?> of, ChangeKind kind)
    {
        var byValue = gone.Values.Where(f => of(f) is not null).GroupBy(f => of(f)!, StringComparer.Ordinal).ToDictionary(g => g.Key, g => g.ToList(), StringComparer.Ordinal);
        foreach (var next in come.Values.OrderBy(f => gone.ContainsKey(f.Path) ? 0 : 1).ThenBy(f => f.Path, StringComparer.Ordinal).ToList())
        {
            if (of(next) is not { } value || !byValue.TryGetValue(value, out var equals) || equals.Count == 0)
                continue;
            var old = equals.Find(f => f.Path == next.Path) ?? equals.Find(f => NameOf(f.Path) == NameOf(next.Path)) ?? equals[0];
            equals.Remove(old);
            Pair(new RecordingPair(old, next, kind));
        }
    }

    private void PairAlike(Action<int, int>? told, CancellationToken cancellationToken)
    {
        var tried = come.Values.Select(f => (New: f, Candidates: CandidatesOf(f))).Where(t => t.Candidates.Count > 0).ToList();
        var found = new (ComparedFile Old, RecordingLikeness Likeness)?[tried.Count];
        var done = 0;
        try
        {
            using var heard = new HeardRecordings(older);
            Parallel.For(0, tried.Count, new ParallelOptions { MaxDegreeOfParallelism = Environment.ProcessorCount, CancellationToken = cancellationToken }, i =>
            {
                using var next = new HeardRecording(newer.Opener(tried[i].New));
                foreach (var old in tried[i].Candidates)
                {
                    var likeness = RecordingComparer.Compare(heard.Of(old), next, cancellationToken);
                    if (likeness.Kind == LikenessKind.Other)
                        continue;
                    found[i] = (old, likeness);
                    break;
                }
                told?.Invoke(Interlocked.Increment(ref done), tried.Count);
            });
        }
        catch (AggregateException e)
        {
            // What the store or the disk said, as it would be without the other cores.
            ExceptionDispatchInfo.Throw(e.InnerExceptions[0]);
        }
        // One that stayed where it was comes before a copy of it elsewhere.
        foreach (var i in Enumerable.Range(0, tried.Count).OrderBy(i => found[i]?.Old.Path == tried[i].New.Path ? 0 : 1))
            if (found[i] is { } match && gone.ContainsKey(match.Old.Path))
                Pair(new RecordingPair(match.Old, tried[i].New, KindOf(match.Likeness), match.Likeness));
    }

    private static ChangeKind KindOf(RecordingLikeness likeness) => likeness.Kind switch
    {
        LikenessKind.Level => ChangeKind.Level,
        LikenessKind.Trimmed => ChangeKind.Trimmed,
        _ => ChangeKind.Retagged,
    };

    private List<ComparedFile> CandidatesOf(ComparedFile next)
    {
        var candidates = new List<ComparedFile>();
        if (gone.TryGetValue(next.Path, out var same))
            candidates.Add(same);
        if (newer.FactsOf(next) is not { Frames: > 0 } facts)
            return candidates;
        var place = newer.PlaceOf(next.Path);
        // What left its name may be anything that left its own; names may also have been exchanged, which what a gain leaves as it is tells.
        candidates.AddRange(gone.Values.Where(f => f != same && older.FactsOf(f) is { Frames: > 0 } old && IsComparable(old, facts))
            .Select(f => (File: f, Distance: Distance(older.FactsOf(f)!, facts)))
            .Where(f => (f.Distance < Exchanged && IsSameCrest(older.FactsOf(f.File)!, facts)) || (same is null && !come.ContainsKey(f.File.Path)))
            .OrderBy(f => place is not null && SamePlace(older.PlaceOf(f.File.Path), place) ? 0 : 1)
            .ThenBy(f => f.Distance).ThenBy(f => f.File.Path, StringComparer.Ordinal)
            .Select(f => f.File).Take(MostTried));
        return candidates;
    }

    private static bool IsComparable(RecordingFacts old, RecordingFacts next) => old.SampleRate == next.SampleRate && old.Channels == next.Channels;

    /// <summary>How unlike two are by what a gain leaves as it is and a trim mostly does: pitch, brightness, length, in octaves.</summary>
    private static double Distance(RecordingFacts old, RecordingFacts next) =>
        Octaves(old.Pitch?.Hz, next.Pitch?.Hz) + Octaves(old.BrightnessHz, next.BrightnessHz) + 0.25 * Octaves(old.Frames, next.Frames);

    /// <summary>True where one of them is too short, or silent, and has none.</summary>
    private static bool IsSameCrest(RecordingFacts old, RecordingFacts next) =>
        Crest(old) is not { } a || Crest(next) is not { } b || Math.Abs(a - b) < SameCrestDb;

    private static double? Crest(RecordingFacts facts) => facts.SamplePeakDbfs - facts.LoudestRmsDbfs;

    private static double Octaves(double? a, double? b) => a is > 0 && b is > 0 ? Math.Abs(Math.Log2(a.Value / b.Value)) : a == b ? 0 : 1;

    /// <summary>No sound was the same: what stands at the old path, or alone in the old place, took it.</summary>
    private void PairPlaces()
    {
        foreach (var next in come.Values.Where(f => gone.ContainsKey(f.Path)).ToList())
            Pair(new RecordingPair(gone[next.Path], next, ChangeKind.ReRecorded));
        var left = gone.Values.Where(f => older.PlaceOf(f.Path) is not null).GroupBy(f => KeyOf(older.PlaceOf(f.Path)!)).Where(g => g.Count() == 1).ToDictionary(g => g.Key, g => g.First());
        foreach (var taker in come.Values.Where(f => newer.PlaceOf(f.Path) is not null).GroupBy(f => KeyOf(newer.PlaceOf(f.Path)!)).Where(g => g.Count() == 1).ToList())
            if (left.TryGetValue(taker.Key, out var old) && taker.Key.Note is not null)
                Pair(new RecordingPair(old, taker.First(), ChangeKind.ReRecorded));
    }

    private static bool SamePlace(RecordingPlace? old, RecordingPlace next) => old is not null && KeyOf(old) == KeyOf(next);

    private static (int? Note, string Way, string Microphone, bool IsLift, int? Layer, int? Layers, int? Take) KeyOf(RecordingPlace place) =>
        (place.Note ?? place.LowKey, place.Articulation, place.Microphone, place.IsLift, place.Layer, place.Layers, place.Take);

    private static string NameOf(string path) => path[(path.LastIndexOf('/') + 1)..];
}
