namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>What each recording's levels and times come to beside the library's limits. What was not measured is passed over.</summary>
internal static class LevelChecks
{
    /// <summary>
    /// A swell is heard later than a blow: of its rise, from −40 dB to the loudest, so much may lie in the lead-in. Common practice, no source.
    /// </summary>
    private const double ShareOfRise = 0.2;

    /// <summary>Seconds; in less, the last 50 ms are no tail but most of the sound.</summary>
    private const double ShortestWithTail = 0.15;

    public static void Judge(IEnumerable<PlacedRecording> recordings, HashSet<string> looped, LibraryLimits limits, Findings findings)
    {
        foreach (var recording in recordings.Where(r => !r.Facts.Silent))
        {
            JudgePeak(recording, limits, findings);
            JudgeChannels(recording, limits, findings);
            JudgeStart(recording, limits, findings);
            if (recording.Facts is { IsWhole: true, Loops.Count: 0 } && !looped.Contains(recording.Path))
                JudgeEnd(recording, limits, findings);
        }
    }

    private static void JudgePeak(PlacedRecording recording, LibraryLimits limits, Findings findings)
    {
        // A clipped recording is told of once.
        if (recording.Facts is { ClippedRuns: 0, TruePeakDbtp: { } peak } && peak > limits.HighestTruePeakDbtp)
            findings.Add(FindingCodes.TruePeakOver, recording.Path,
                T($"Between the samples it peaks at {Words.Number(peak)} dBTP, above {Words.Number(limits.HighestTruePeakDbtp)}: a player’s output may clip. Lower it a little, with the rest of its layer."));
    }

    private static void JudgeChannels(PlacedRecording recording, LibraryLimits limits, Findings findings)
    {
        var facts = recording.Facts;
        if (facts.DcOffset.Count > 0 && facts.DcOffset.Max(Math.Abs) is var offset && offset > limits.LargestDcOffset)
            findings.Add(FindingCodes.DcOffset, recording.Path,
                T($"It stands {Words.Number(100 * offset, 2)} % of full scale off the middle (DC offset; {Words.Number(100 * limits.LargestDcOffset, 2)} % is allowed), so it clicks where it starts and ends. Filter it below 20 Hz, and export again."));
        if (facts.SilentChannels.Count > 0)
            findings.Add(FindingCodes.ChannelSilent, recording.Path, (facts.Channels, facts.SilentChannels[0]) switch
            {
                (2, 0) => T("Nothing sounds in the left channel. Export it again, or as mono."),
                (2, _) => T("Nothing sounds in the right channel. Export it again, or as mono."),
                _ => T($"Nothing sounds in channel {string.Join(", ", facts.SilentChannels.Select(c => c + 1))} of {facts.Channels}. Export it again, or as mono."),
            });
        if (facts.ChannelsInverted)
            findings.Add(FindingCodes.ChannelsInverted, recording.Path,
                T("The right channel is the left turned upside down: in mono nothing is left. Turn one of them round, or export one as mono."));
        if (facts is { ChannelsIdentical: true, Channels: > 1 })
            findings.Add(FindingCodes.ChannelsIdentical, recording.Path,
                T($"All {facts.Channels} channels hold the same: mono, stored as more. Export it as mono; it will be half as large or less."));
    }

    private static void JudgeStart(PlacedRecording recording, LibraryLimits limits, Findings findings)
    {
        // A lift follows the key's way up; how soon it starts is part of it.
        if (recording.Place.IsLift || recording.Facts.LeadInMs is not { } leadIn)
            return;
        if (leadIn > Math.Max(limits.LongestLeadInMs, ShareOfRise * recording.Facts.AttackMs ?? 0))
            findings.Add(FindingCodes.LeadInLong, recording.Path,
                T($"The sound starts {Words.Number(leadIn, 0)} ms after the file does, later than {Words.Number(limits.LongestLeadInMs, 0)} ms: the key feels late. Trim its start."));
        else if (leadIn < limits.ShortestLeadInMs)
            findings.Add(FindingCodes.LeadInShort, recording.Path,
                T($"The sound starts {Words.Number(leadIn)} ms after the file does, sooner than {Words.Number(limits.ShortestLeadInMs)} ms: some of its attack may be cut off. Trim it less."));
    }

    private static void JudgeEnd(PlacedRecording recording, LibraryLimits limits, Findings findings)
    {
        var facts = recording.Facts;
        if (facts.SampleRate > 0 && facts.Frames < ShortestWithTail * facts.SampleRate)
            return;
        // A tail below the highest noise floor can't be heard against the noise that is allowed.
        if (facts is { TailDbfs: { } tail, LoudestRmsDbfs: { } loudest } && tail > limits.HighestNoiseFloorDbfs && loudest - tail < limits.TailBelowLoudestDb)
            findings.Add(FindingCodes.TailCut, recording.Path,
                T($"It ends at {Words.Number(tail)} dBFS, only {Words.Number(loudest - tail, 0)} dB below its loudest ({Words.Number(limits.TailBelowLoudestDb, 0)} are expected): it is cut while it sounds, or ends in noise. Let it ring longer, or fade it out."));
        else if (facts.NoiseFloorDbfs is { } noise && noise > limits.HighestNoiseFloorDbfs)
            findings.Add(FindingCodes.NoiseHigh, recording.Path,
                T($"Its quietest moment is at {Words.Number(noise)} dBFS, above {Words.Number(limits.HighestNoiseFloorDbfs)}: noise, which adds up with every note held, or a sound not yet over. Listen; record it nearer, in a quieter room, or let it ring longer."));
    }
}
