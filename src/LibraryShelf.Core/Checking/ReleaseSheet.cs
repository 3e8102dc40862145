using System.Text.Json;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Checking;

/// <summary>
/// What a release's last check came to beside its findings, written with them. A release that was checked before there was such a row has
/// none.
/// </summary>
public sealed class ReleaseSheet
{
    public long ReleaseId { get; set; }
    /// <summary>Where each recording stands: an array of <see cref="RecordingPlace"/> as JSON.</summary>
    public string Places { get; set; } = "[]";
    /// <summary>The library's limits when it was judged, as <see cref="Catalog.Library.Limits"/> then read.</summary>
    public string Limits { get; set; } = "";

    public IReadOnlyList<RecordingPlace> ReadPlaces() => JsonSerializer.Deserialize<List<RecordingPlace>>(Places)!;

    internal static ReleaseSheet Of(long releaseId, IReadOnlyList<RecordingPlace> places, string limits) =>
        new() { ReleaseId = releaseId, Places = JsonSerializer.Serialize(places), Limits = limits };
}

public sealed class ReleaseSheetConfiguration : IEntityTypeConfiguration<ReleaseSheet>
{
    public void Configure(EntityTypeBuilder<ReleaseSheet> builder)
    {
        builder.HasKey(s => s.ReleaseId);
        builder.Property(s => s.ReleaseId).ValueGeneratedNever();
    }
}
