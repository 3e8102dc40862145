using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;

namespace LibraryShelf.Core.Catalog;

/// <summary>A sampled instrument on the shelf; its numbered versions are <see cref="Releases"/>.</summary>
public sealed class Library
{
    public long Id { get; set; }
    /// <summary>The library's name in addresses: lower-case letters, digits and single hyphens. Never changes.</summary>
    public string Slug { get; set; } = "";
    public string Title { get; set; } = "";
    /// <summary>One or two plain sentences for the shelf.</summary>
    public string Sentence { get; set; } = "";
    /// <summary>How it was made, in Markdown.</summary>
    public string Description { get; set; } = "";
    /// <summary>How it sounds, in one word: struck, blown, plucked, bowed, clicks.</summary>
    public string Sound { get; set; } = "";
    public Paint Paint { get; set; }
    /// <summary>False for a kit of clicks and knocks: nothing is said of its tuning.</summary>
    public bool IsPitched { get; set; } = true;
    /// <summary>What the maker expects of a recording, as <see cref="Packaging.CheckSheets.LibraryLimits"/> in JSON; empty: all defaults.</summary>
    public string Limits { get; set; } = "";
    /// <summary>The one top folder inside every archive; fixed by the first sealed release, because songs remember paths.</summary>
    public string? FolderName { get; set; }
    public DateTimeOffset CreatedAt { get; set; }
    /// <summary>When the maker declared that the recordings are hers to give; null: not yet, and nothing is published before.</summary>
    public DateTimeOffset? DeclaredAt { get; set; }
    /// <summary>
    /// The month whose box this is: that of its first publishing, when that was for members. Who paid for the month keeps the library. Null: it
    /// came out free, or is not out yet.
    /// </summary>
    public YearMonth? Month { get; set; }
    /// <summary>When its words last changed since it was added; null: never.</summary>
    public DateTimeOffset? WordsChangedAt { get; set; }
    public int Revision { get; set; }

    public List<Release> Releases { get; } = [];
    public List<AudienceDecision> Audiences { get; } = [];

    /// <summary>Who the library is for at <paramref name="instant"/>: the last decision made by then; null before the first.</summary>
    public Audience? AudienceAt(DateTimeOffset instant) =>
        Audiences.Where(a => a.DecidedAt <= instant).OrderBy(a => a.DecidedAt).ThenBy(a => a.Id).LastOrDefault()?.Audience;

    /// <summary>The maker says that the recordings are hers to give; the first time counts.</summary>
    public void Declare(DateTimeOffset now)
    {
        if (DeclaredAt is not null)
            return;
        DeclaredAt = now;
        Revision++;
    }

    /// <summary>Appends a decision as of <paramref name="now"/>; false (and nothing appended) when it is for these people already.</summary>
    public bool Decide(Audience audience, DateTimeOffset now)
    {
        if (AudienceAt(now) == audience)
            return false;
        Audiences.Add(new AudienceDecision { Audience = audience, DecidedAt = now });
        Revision++;
        return true;
    }
}

public sealed class LibraryConfiguration : IEntityTypeConfiguration<Library>
{
    public void Configure(EntityTypeBuilder<Library> builder)
    {
        builder.HasIndex(l => l.Slug).IsUnique();
        builder.Property(l => l.Paint).HasConversion<string>();
        builder.Property(l => l.Revision).IsConcurrencyToken();
        builder.HasMany(l => l.Releases).WithOne(r => r.Library).HasForeignKey(r => r.LibraryId);
        builder.HasMany(l => l.Audiences).WithOne().HasForeignKey(a => a.LibraryId);
    }
}
