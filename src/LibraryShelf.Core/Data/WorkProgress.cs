using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Data;

/// <summary>
/// How far a long work is that runs now, for whoever waits for it; written by <see cref="ProgressNotes"/>, gone when the work ends. Nothing is decided by it: what a
/// kill leaves standing is written over by the next run, or forgotten.
/// </summary>
public sealed class WorkProgress
{
    /// <summary>Which work: <see cref="ProgressNotes.Compare"/> and its neighbours.</summary>
    public string Name { get; set; } = "";
    /// <summary>So many things are done, of <see cref="Total"/>; 0 of 0: not counted in things.</summary>
    public int Done { get; set; }
    public int Total { get; set; }
    /// <summary>So many bytes, of <see cref="TotalBytes"/>; 0 of 0: not counted in bytes.</summary>
    public long DoneBytes { get; set; }
    public long TotalBytes { get; set; }
    public DateTimeOffset At { get; set; }
}

public sealed class WorkProgressConfiguration : IEntityTypeConfiguration<WorkProgress>
{
    public void Configure(EntityTypeBuilder<WorkProgress> builder)
    {
        builder.ToTable("WorkProgress");
        builder.HasKey(p => p.Name);
    }
}
