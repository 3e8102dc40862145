using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>"The newest version for your player": which version of a box opens in what someone has. Nothing of the answer is kept.</summary>
/// <param name="versions">From the highest number down.</param>
/// <param name="player">As asked for; null or empty: not asked yet.</param>
/// <param name="has">Its version as typed.</param>
internal sealed class YourPlayer(IReadOnlyList<BoxVersion> versions, string? player, string? has)
{
    /// <summary>Every player that any version names, by name.</summary>
    public IReadOnlyList<string> Players { get; } =
    [
        .. versions.SelectMany(v => v.Release.Players.Select(p => p.Name)).Where(n => n.Length > 0)
            .Distinct(StringComparer.OrdinalIgnoreCase).Order(StringComparer.OrdinalIgnoreCase),
    ];

    public string Player { get; } = player?.Trim() ?? "";

    public string Has { get; } = has?.Trim() ?? "";

    public bool IsAsked => Player.Length > 0;

    public bool IsVersion => OpensIn.IsVersion(Has);

    /// <summary>The newest that opens there; null when none does, or when it was not asked in a way that can be answered.</summary>
    public BoxVersion? Newest => !IsAsked || !IsVersion ? null : versions.FirstOrDefault(v => v.Release.Players.Any(
        p => string.Equals(p.Name, Player, StringComparison.OrdinalIgnoreCase) && OpensIn.IsEnough(Has, p.LowestVersion)));

    public bool IsLatest => ReferenceEquals(Newest, versions[0]);

    /// <summary>The lowest version of this player that any version of the box asks for; "" when none names it.</summary>
    public string Lowest => versions.SelectMany(v => v.Release.Players)
        .Where(p => string.Equals(p.Name, Player, StringComparison.OrdinalIgnoreCase) && OpensIn.IsVersion(p.LowestVersion))
        .Select(p => p.LowestVersion).Aggregate("", (low, one) => low.Length > 0 && OpensIn.IsEnough(one, low) ? low : one);
}
