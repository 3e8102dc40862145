using LibraryShelf.Core.Membership;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;

namespace LibraryShelf.Core.Catalog;

/// <summary>The maker's shop: one row, made when the shelf is claimed.</summary>
public sealed class Shop
{
    public const int OnlyId = 1;

    public int Id { get; set; } = OnlyId;
    public string Name { get; set; } = "";
    /// <summary>The maker's one line, in the footer of every page.</summary>
    public string MakerLine { get; set; } = "";
    public string Contact { get; set; } = "";
    /// <summary>IANA name, such as Europe/Lisbon.</summary>
    public string TimeZone { get; set; } = "Etc/UTC";
    /// <summary>ISO 4217 code.</summary>
    public string Currency { get; set; } = "EUR";
    public string PostalAddress { get; set; } = "";
    public string Terms { get; set; } = "";
    public string Privacy { get; set; } = "";
    /// <summary>The licence for the recordings where a release names no other.</summary>
    public string Licence { get; set; } = "";
    /// <summary>What <see cref="Licence"/> comes to (<see cref="InShort"/>); "": not said.</summary>
    public string LicenceInShort { get; set; } = "";
    /// <summary>What people agree to when they join, beside a box they tick; empty: the box is not shown.</summary>
    public string ConsentWords { get; set; } = "";
    /// <summary>On the button that leads to the payment page, before the sum; empty: <see cref="Membership.JoinButton.Usual"/>. Law may prescribe them.</summary>
    public string ButtonWords { get; set; } = "";
    /// <summary>Her own name for the terms of today, such as a date; kept with every joining.</summary>
    public string TermsVersion { get; set; } = "";
    /// <summary>What those who join keep after leaving.</summary>
    public AfterLeaving AfterLeaving { get; set; }
    /// <summary>The usual day of a drop, as <see cref="Drops.DropDay"/> writes it.</summary>
    public string DropDay { get; set; } = "1";
    /// <summary>The usual time of a drop on the wall of <see cref="TimeZone"/>.</summary>
    public string DropTime { get; set; } = "09:00";
    /// <summary>What a gigabyte (10^9 bytes) that goes out costs her, in millionths of <see cref="Currency"/>; null: not said, or the currency is another since.</summary>
    public long? GigabytePrice { get; set; }
    /// <summary>
    /// Restored from a backup, and not yet said to be the one shelf: mails, drops and changes at the payment provider are held until the maker says so.
    /// Null: nothing is held.
    /// </summary>
    public DateTimeOffset? HeldSince { get; set; }
    /// <summary>When the maker stopped a backup that was being made; null: she did not, or one was made since.</summary>
    public DateTimeOffset? BackupStoppedAt { get; set; }
    /// <summary>Restored to see whether a backup is of use: held for good, without a mail, and makes no backups.</summary>
    public bool IsTrial { get; set; }
    public bool IsDemo { get; set; }
    public DateTimeOffset ClaimedAt { get; set; }
    /// <summary>When it last changed what it says of itself since then; null: never.</summary>
    public DateTimeOffset? WordsChangedAt { get; set; }
    public int Revision { get; set; }
}

public sealed class ShopConfiguration : IEntityTypeConfiguration<Shop>
{
    public void Configure(EntityTypeBuilder<Shop> builder)
    {
        builder.Property(s => s.Id).ValueGeneratedNever();
        builder.Property(s => s.AfterLeaving).HasConversion<string>();
        builder.Property(s => s.Revision).IsConcurrencyToken();
    }
}
