using System.Globalization;

namespace LibraryShelf.Core.Tests.Statistics;

/// <summary>
/// How many random histories the fast counts are held against the slow ones on: 1,000 on SQLite, 80 on PostgreSQL, where the same is asked with other words alone.
/// 10,000 with SHELF_SLOW=1; SHELF_SEED=n draws others. Many lie beside each other in one database, each with people, visitors and boxes of its own, so that as many
/// are counted in one go as on a busy shelf, and none may count for another.
/// </summary>
internal static class Histories
{
    public const int Together = 40;

    public static readonly int Seed = int.TryParse(Environment.GetEnvironmentVariable("SHELF_SEED"), CultureInfo.InvariantCulture, out var seed) ? seed : 20261126;

    /// <summary>So many databases of <see cref="Together"/>.</summary>
    public static readonly int Rounds = Environment.GetEnvironmentVariable("SHELF_SLOW") == "1" ? 250 : TestDatabase.IsPostgres ? 2 : 25;
}
