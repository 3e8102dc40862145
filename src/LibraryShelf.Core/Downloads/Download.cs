using System.Linq.Expressions;
using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Downloads;

/// <summary>
/// One pressed download button: the link it made and what became of it. No network address is stored. Written by this
/// step only; how much was served is in <see cref="DownloadEvent"/>, what it adds up to in Statistics.
/// </summary>
public sealed class Download
{
    /// <summary>128 random bits, base64url: part of the link.</summary>
    public string Id { get; set; } = "";
    public long ArchiveId { get; set; }
    public long ReleaseId { get; set; }
    public long LibraryId { get; set; }
    /// <summary>Of an update archive: the version it is from. Stands here too, because an archive nobody fetched goes.</summary>
    public long? FromReleaseId { get; set; }
    /// <summary>Of a month's archive: its drop, of which <see cref="ReleaseId"/> is the first version. Null: one version was fetched.</summary>
    public long? DropId { get; set; }
    /// <summary>Null: a visitor who is not signed in.</summary>
    public long? PersonId { get; set; }
    /// <summary>
    /// Who is not signed in, told apart from others within one day: <see cref="Statistics.VisitorKeys"/>. Says nothing of who it is, nor that two days are one
    /// person's. Null: signed in, or not known, or so long ago that it went with the events (<see cref="Statistics.KeptVisitors"/>).
    /// </summary>
    public string? Visitor { get; set; }
    /// <summary>
    /// A visitor whose program calls itself a robot (<see cref="Statistics.Robots"/>) pressed; or, once <see cref="Visitor"/> has gone, one that started more in that day
    /// than a person would. Never of anybody who is signed in.
    /// </summary>
    public bool IsRobot { get; set; }
    /// <summary>The reason the person was allowed, kept for later questions.</summary>
    public MayDownloadWhy Why { get; set; }
    public DateTimeOffset MadeAt { get; set; }
    public DateTimeOffset StartBy { get; set; }
    public DateTimeOffset FinishBy { get; set; }
    /// <summary>The first request that was answered with bytes.</summary>
    public DateTimeOffset? StartedAt { get; set; }
    public DateTimeOffset? RevokedAt { get; set; }

    /// <summary>Whether the row's times and the maker still let its link open; how much it has handed over is not looked at.</summary>
    public static Expression<Func<Download, bool>> IsOpenAt(DateTimeOffset now) =>
        d => d.RevokedAt == null && d.FinishBy > now && (d.StartedAt != null || d.StartBy > now);
}

public sealed class DownloadConfiguration : IEntityTypeConfiguration<Download>
{
    public void Configure(EntityTypeBuilder<Download> builder)
    {
        builder.Property(d => d.Why).HasConversion<string>();
        // Without the many rows of nobody and of no month: else a question about these is led through them all, which are millions, instead of by what else it asks.
        builder.HasIndex(d => new { d.PersonId, d.ReleaseId }).HasFilter("\"PersonId\" IS NOT NULL");
        builder.HasIndex(d => d.StartedAt);
        builder.HasIndex(d => new { d.DropId, d.PersonId }).HasFilter("\"DropId\" IS NOT NULL");
        builder.HasIndex(d => new { d.ReleaseId, d.FromReleaseId });
        // The newest are listed, of all, of a box and of the months it was in. Of a month in which none is another box's PostgreSQL would else go through all there are.
        builder.HasIndex(d => new { d.DropId, d.MadeAt }).HasFilter("\"DropId\" IS NOT NULL");
        builder.HasIndex(d => d.MadeAt);
        builder.HasIndex(d => new { d.LibraryId, d.MadeAt });
    }
}
