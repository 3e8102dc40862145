namespace LibraryShelf.Web.Setup.Demo.Sounds;

/// <summary>
/// Which recording of a library: the same one is the same bytes in every version, whatever its file is called there.
/// <paramref name="Layer"/> is a word of <see cref="Strengths"/>; <paramref name="Take"/> counts from 1; <paramref name="Session"/>
/// rises when it is recorded again.
/// </summary>
internal sealed record Sound(string Library, string Way, int Key, string Layer, int Take, int Session)
{
    public const string Lift = "lift";

    private static readonly Dictionary<string, double> Strengths = new()
    {
        ["soft"] = 0.3, ["medium"] = 0.55, ["firm"] = 0.78, ["hard"] = 1, ["full"] = 1, [Lift] = 0.5,
    };

    public string Seed => $"{Library}/{Way}/{Key}/{Layer}/{Take}/{Session}";

    public bool IsLift => Layer == Lift;

    public bool IsRolled => Way == "rolled";

    /// <summary>From just above 0 (softest) to 1 (hardest).</summary>
    public double Strength => Strengths[Layer];
}
