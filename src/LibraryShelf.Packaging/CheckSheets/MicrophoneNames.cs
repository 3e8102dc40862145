namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// Recordings that sound together, for the same key, velocities and turn, are one sound through several microphones. Each is named by the
/// one part of its path in which they differ: "near" and "room" of near/A3.wav and room/A3.wav. Common practice, no source.
/// </summary>
internal static class MicrophoneNames
{
    private static readonly char[] Separators = ['/', '_', ' ', '-', '.', '(', ')'];

    /// <summary>Names by path. Recordings that sound alone, or whose paths differ in more than one part, are not in it.</summary>
    public static Dictionary<string, string> Of(IEnumerable<IReadOnlyList<string>> soundTogether)
    {
        var names = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var together in soundTogether.Where(t => t.Count > 1))
        {
            var parts = together.Select(p => Path.ChangeExtension(p, null).Split(Separators)).ToList();
            if (parts.Exists(p => p.Length != parts[0].Length))
                continue;
            var differing = Enumerable.Range(0, parts[0].Length)
                .Where(i => parts.Select(p => p[i]).Distinct(StringComparer.Ordinal).Count() > 1).ToList();
            // A number is a take or a layer that was mapped twice, not a microphone.
            if (differing.Count != 1 || parts.Exists(p => p[differing[0]].Length == 0 || p[differing[0]].Any(char.IsAsciiDigit)))
                continue;
            for (var i = 0; i < together.Count; i++)
                names.TryAdd(together[i], parts[i][differing[0]]);
        }
        return names;
    }
}
