namespace LibraryShelf.Packaging.Comparisons;

/// <summary>What keys sound no more, or newly, after what a song did before it strikes them: whole sentences, because languages order words otherwise.</summary>
/// <param name="Where">The situation, "after the switch key C1"; "" at rest.</param>
/// <param name="IsLift">Of letting keys go, not of striking them.</param>
/// <param name="IsGain">What sounds newly.</param>
internal sealed record SituationSentences(string Where, bool IsLift, bool IsGain)
{
    public static string AtRest => T("with nothing chosen before");

    /// <summary>At no velocity before, or at none any more.</summary>
    public string OfWholeKeys(string keys, bool isOne)
    {
        var where = Where.Length > 0 ? Where : AtRest;
        return (IsLift, IsGain, isOne) switch
        {
            (true, false, _) => T($"{where}, letting go of {keys} sounds no more"),
            (true, true, _) => T($"{where}, letting go of {keys} sounds now"),
            (false, false, true) => T($"{where}, {keys} sounds no more"),
            (false, false, false) => T($"{where}, {keys} sound no more"),
            (false, true, true) => T($"{where}, {keys} sounds now"),
            (false, true, false) => T($"{where}, {keys} sound now"),
        };
    }

    /// <summary>At some velocities only.</summary>
    public string OfSomeVelocities(string keys) => (IsLift, IsGain, Where.Length > 0) switch
    {
        (true, false, true) => T($"{Where}, some velocities of letting go of {keys} sound no more"),
        (true, false, false) => T($"some velocities of letting go of {keys} sound no more"),
        (true, true, true) => T($"{Where}, some velocities of letting go of {keys} sound now"),
        (true, true, false) => T($"some velocities of letting go of {keys} sound now"),
        (false, false, true) => T($"{Where}, some velocities of {keys} sound no more"),
        (false, false, false) => T($"some velocities of {keys} sound no more"),
        (false, true, true) => T($"{Where}, some velocities of {keys} sound now"),
        (false, true, false) => T($"some velocities of {keys} sound now"),
    };
}
