using System.Globalization;
using LibraryShelf.Audio;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>What is to be said of each recording by itself.</summary>
internal static class RecordingChecks
{
    /// <summary>
    /// Nothing above this is silence, dBFS: one step of 16 bits is −90.3. Common practice, no source.
    /// </summary>
    public const double SilentBelowDbfs = -90;

    public static void Judge(IReadOnlyDictionary<string, RecordingFacts> recordings, LibraryLimits limits, Findings findings)
    {
        foreach (var (path, facts) in recordings)
        {
            JudgeTrouble(path, facts, findings);
            if (facts.Frames > 0)
                JudgeSamples(path, facts, limits, findings);
        }
    }

    private static void JudgeTrouble(string path, RecordingFacts facts, Findings findings)
    {
        switch (facts.Trouble)
        {
            case RecordingTrouble.NotARecording or RecordingTrouble.Broken:
                findings.Add(FindingCodes.RecordingUndecodable, path, T($"This recording can’t be read: {facts.TroubleWords}. Export it again from the original."));
                break;
            case RecordingTrouble.CutShort:
                findings.Add(FindingCodes.RecordingCutShort, path,
                    T($"The recording is cut short: {facts.TroubleWords} ({Words.Count(facts.Frames, "frame", "frames")} came). Export or copy it again."));
                break;
            case RecordingTrouble.Empty:
                findings.Add(FindingCodes.RecordingEmpty, path, T("The recording holds not one sample. Export it again, or take it out of the folder."));
                break;
            case RecordingTrouble.NotRead:
                findings.Add(FindingCodes.RecordingNotRead, path,
                    T($"The recording is kept as it is, but was not checked: {facts.TroubleWords}. Play it once before sealing, or export it as WAV."));
                break;
        }
    }

    private static void JudgeSamples(string path, RecordingFacts facts, LibraryLimits limits, Findings findings)
    {
        if (facts.HasNonFinite)
            findings.Add(FindingCodes.RecordingNotFinite, path,
                T("Some samples are not numbers (NaN or infinite); players click or fall silent there. Export the recording again, as 24-bit WAV if it keeps happening."));
        if (facts.Silent)
            findings.Add(FindingCodes.RecordingSilent, path, T("Nothing sounds: every sample is zero. Record or export it again, or take it out of the folder."));
        else if (facts.SamplePeakDbfs < SilentBelowDbfs)
            findings.Add(FindingCodes.RecordingSilent, path, 
                T($"Nothing sounds: the loudest sample is at {facts.SamplePeakDbfs:0.0} dBFS. Record or export it again, or take it out of the folder."));
        if (facts.ClippedRuns >= limits.ClippedPlacesMustFix)
            findings.Add(FindingCodes.RecordingClippedHard, path,
                T($"Clipped: {Words.Count(facts.ClippedRuns, "place", "places")} with three or more samples in a row at full scale, and {limits.ClippedPlacesMustFix} or more must be mended. Record it again at a lower level, or excuse it if it is meant so."));
        else if (facts.ClippedRuns > 0)
            findings.Add(FindingCodes.RecordingClipped, path,
                T($"{Words.Count(facts.ClippedRuns, "place", "places")} with three or more samples in a row at full scale. Listen there: if it crackles, record again at a lower level."));
        if (facts.Loops.Any(l => l.Start > l.End || l.End >= facts.Frames))
            findings.Add(FindingCodes.LoopOutside, path,
                T($"A loop in the file lies outside its {Words.Count(facts.Frames, "frame", "frames")}. Set the loop again, or export without it."));
    }
}
