using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace LibraryShelf.Core.Statistics;

/// <summary>
/// How many visitors a day had, kept when what told them apart went (<see cref="LetVisitorsGo"/>). Where a day has these, its people are they and who was signed in,
/// however often it is rolled up again.
/// </summary>
public sealed class KeptVisitors
{
    public LocalDate Day { get; set; }
    /// <summary>0: of all libraries, each once. A day whose visitors went has this row, also when it had none.</summary>
    public long LibraryId { get; set; }
    public int Visitors { get; set; }

    /// <returns>By library; null: they are still told apart.</returns>
    internal static async Task<Dictionary<long, int>?> OfAsync(ShelfDb db, LocalDate day, CancellationToken cancellationToken) =>
        await db.KeptVisitors.AsNoTracking().Where(k => k.Day == day).ToDictionaryAsync(k => k.LibraryId, k => k.Visitors, cancellationToken) is { Count: > 0 } kept ? kept : null;
}

public sealed class KeptVisitorsConfiguration : IEntityTypeConfiguration<KeptVisitors>
{
    public void Configure(EntityTypeBuilder<KeptVisitors> builder)
    {
        builder.ToTable("KeptVisitors");
        builder.HasKey(k => new { k.Day, k.LibraryId });
    }
}
