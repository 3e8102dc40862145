using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Accounts;

/// <summary>A browser somebody is signed in with: its cookie names this row, and is worth nothing once the row has ended. No network address is kept.</summary>
public sealed class Device
{
    /// <summary>How long a browser that is not seen stays signed in: the life of its cookie.</summary>
    public static readonly TimeSpan LivesUnseen = TimeSpan.FromDays(30);

    public long Id { get; set; }
    public long PersonId { get; set; }
    /// <summary>As a person would call it: "Firefox on Linux".</summary>
    public string Words { get; set; } = "";
    public DateTimeOffset SignedInAt { get; set; }
    /// <summary>To within some minutes.</summary>
    public DateTimeOffset SeenAt { get; set; }
    /// <summary>Signed out, here or from another device.</summary>
    public DateTimeOffset? EndedAt { get; set; }
}

public sealed class DeviceConfiguration : IEntityTypeConfiguration<Device>
{
    public void Configure(EntityTypeBuilder<Device> builder)
    {
        builder.HasIndex(d => new { d.PersonId, d.EndedAt });
        builder.HasOne<Person>().WithMany().HasForeignKey(d => d.PersonId).OnDelete(DeleteBehavior.Cascade);
    }
}
