using System.Text.Json;
using System.Text.RegularExpressions;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// Programs that say that they are robots, by a maintained list of patterns (npm crawler-user-agents, MIT). Those that say nothing, or something else, are known by
/// what they do: <see cref="RollUpDays.MostByAPerson"/>.
/// </summary>
public sealed class Robots
{
    private readonly Lazy<Regex[]> _patterns;

    /// <param name="list">The list's JSON: objects with a "pattern".</param>
    /// <exception cref="JsonException">It is not.</exception>
    public Robots(Stream list)
    {
        var patterns = JsonSerializer.Deserialize<List<Entry>>(list, JsonSerializerOptions.Web) ?? [];
        // Each takes time proportional to what is sent, whatever is sent. All in one would make an automaton larger than allowed.
        _patterns = new(() => [.. patterns.Select(p => new Regex(p.Pattern, RegexOptions.NonBacktracking | RegexOptions.CultureInvariant))]);
    }

    /// <summary>The most of it that is looked at: the longest of people's browsers stay below 300 characters.</summary>
    private const int Looked = 1_000;

    public bool Knows(string userAgent)
    {
        ArgumentNullException.ThrowIfNull(userAgent);
        var looked = userAgent[..Math.Min(Looked, userAgent.Length)];
        return Array.Exists(_patterns.Value, p => p.IsMatch(looked));
    }

    private sealed record Entry(string Pattern);
}
