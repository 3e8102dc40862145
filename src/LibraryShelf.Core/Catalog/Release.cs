using LibraryShelf.Core.Intake;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata.Builders;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Catalog;

/// <summary>
/// One numbered version of a library. Sealing freezes its contents for ever; publishing is a separate act.
/// <see cref="State"/> moves only through <see cref="MoveTo"/>.
/// </summary>
public sealed class Release
{
    private static readonly Dictionary<ReleaseState, ReleaseState[]> Moves = new()
    {
        [ReleaseState.Draft] = [ReleaseState.Checked],
        [ReleaseState.Checked] = [ReleaseState.Draft, ReleaseState.Sealed],
        [ReleaseState.Sealed] = [ReleaseState.Early, ReleaseState.Scheduled, ReleaseState.Published],
        [ReleaseState.Early] = [ReleaseState.Scheduled, ReleaseState.Published, ReleaseState.Withdrawn],
        [ReleaseState.Scheduled] = [ReleaseState.Sealed, ReleaseState.Published],
        [ReleaseState.Published] = [ReleaseState.Withdrawn],
        [ReleaseState.Withdrawn] = [],
    };

    public long Id { get; set; }
    public long LibraryId { get; set; }
    public Library Library { get; set; } = null!;
    /// <summary>SemVer 2.0.0, three parts at least; unique within the library.</summary>
    public string Number { get; set; } = "";
    public ReleaseState State { get; private set; } = ReleaseState.Draft;
    /// <summary>What changed, in Markdown: CHANGES.md in the archive and the version story on the shelf.</summary>
    public string Notes { get; set; } = "";
    /// <summary>An SPDX licence id, or null when <see cref="LicenceText"/> is the maker's own.</summary>
    public string? LicenceSpdx { get; set; }
    public string LicenceText { get; set; } = "";
    /// <summary>What <see cref="LicenceText"/> comes to (<see cref="InShort"/>); "": not said. Of the shop's text it is the shop's line, also one the maker puts right later (<see cref="Accounts.EditShop"/>).</summary>
    public string LicenceInShort { get; set; } = "";
    public string Credits { get; set; } = "";
    public List<ReleasePlayer> Players { get; } = [];
    public List<ReleaseFile> Files { get; } = [];

    public DateTimeOffset CreatedAt { get; set; }
    /// <summary>The maker asked for the check at this instant; cleared by the check. Row state is the truth, the queue a hint.</summary>
    public DateTimeOffset? CheckAskedAt { get; set; }
    /// <summary>Recordings measured so far and in all, while a check is under way.</summary>
    public int CheckDone { get; set; }
    public int CheckTotal { get; set; }
    public DateTimeOffset? CheckedAt { get; set; }
    /// <summary>The maker asked for sealing at this instant; cleared by the sealing.</summary>
    public DateTimeOffset? SealAskedAt { get; set; }
    /// <summary>Publish for these people as soon as it is sealed ("Seal and publish"); null: seal only.</summary>
    public Audience? PublishAfterSealFor { get; set; }
    /// <summary>Why the last unpacking, check or sealing was not done, in words for the maker; null when all is well.</summary>
    public string? Trouble { get; set; }
    /// <summary>What <see cref="Trouble"/> said when the maker last stopped an unpacking or a check herself. Null: she never did.</summary>
    public string? StoppedWords { get; set; }
    public DateTimeOffset? SealedAt { get; set; }
    public DateTimeOffset? PublishedAt { get; set; }
    /// <summary>The maker does not want what can be heard of it made now; null: it is made when it is its turn.</summary>
    public DateTimeOffset? ListenHeldAt { get; set; }
    public DateTimeOffset? WithdrawnAt { get; set; }
    /// <summary>Why it was withdrawn, in the maker's words, shown on the box's page; "" otherwise.</summary>
    public string WithdrawnBecause { get; set; } = "";
    /// <summary>
    /// Set when it comes to the shelf or goes from it: who is to be told of that is not told to the last yet; cleared by the telling
    /// (<see cref="Publishing.TellPeople"/>), which writes the mails in small transactions.
    /// </summary>
    public DateTimeOffset? TellAskedAt { get; set; }
    /// <summary>The shelf's address for these mails, without a slash at its end; null: the one in the settings, or none.</summary>
    public string? TellPlace { get; set; }
    /// <summary>
    /// Months, besides <see cref="Library.Month"/>, whose drop brought this version or a lower one: "2026-10 2026-12". Who has one of them paid for has this
    /// version for good. Written when it is published, and when a drop brings a lower one after it; "": none.
    /// </summary>
    public string DropMonths { get; set; } = "";
    /// <summary>Why its number is smaller than was proposed, in the maker's words; "" when it is not.</summary>
    public string WhySmallerNumber { get; set; } = "";
    /// <summary>The proposed number that <see cref="WhySmallerNumber"/> speaks against: where another is proposed now, the reason has to be given anew. "": not kept.</summary>
    public string WhySmallerThan { get; set; } = "";
    /// <summary>The drafted changes as last taken into <see cref="Notes"/>, so that a newer draft takes their place where nobody edited them; "" before.</summary>
    public string TakenDraft { get; set; } = "";

    /// <summary>Marks its files (<see cref="Comparing.FolderMarks"/>); "" in a draft, whose folder may change, and until it is compared.</summary>
    public string FolderMark { get; set; } = "";

    // What the check measured, kept on the row so that the shelf needs no counting.
    public int Recordings { get; set; }
    public long FolderBytes { get; set; }
    public int Keys { get; set; }
    /// <summary>MIDI note numbers 0 to 127; null when nothing is mapped.</summary>
    public int? LowestKey { get; set; }
    public int? HighestKey { get; set; }
    public int Layers { get; set; }
    public int Takes { get; set; }
    /// <summary>Ways of playing, comma-separated, as the mappings name them; empty when there is only one unnamed.</summary>
    public string Articulations { get; set; } = "";

    public int Revision { get; set; }

    public bool IsSealed => SealedAt is not null;

    /// <summary><see cref="Trouble"/> is none: it says what the maker stopped, and what of it is kept. Whatever is written there afterwards are other words.</summary>
    public bool WasStopped => Trouble is not null && Trouble == StoppedWords;

    /// <summary>Whoever has one of these months has this version: <paramref name="library"/>'s own, and those of <see cref="DropMonths"/>.</summary>
    internal IEnumerable<YearMonth> MonthsIn(Library library) =>
        library.Month is { } month ? MonthsOf(DropMonths).Prepend(month) : MonthsOf(DropMonths);

    /// <summary>Theirs too by these months.</summary>
    internal void AddMonths(IEnumerable<YearMonth> months) =>
        DropMonths = string.Join(' ', MonthsOf(DropMonths).Concat(months).Distinct().Order().Select(YearMonthPattern.Iso.Format));

    /// <summary>Theirs by the months of the versions below it that were on the shelf, too.</summary>
    internal void InheritMonths(IEnumerable<Release> others) => AddMonths(others
        .Where(r => r.PublishedAt is not null && ReleaseNumbers.ByPrecedence.Compare(r.Number, Number) < 0).SelectMany(r => MonthsOf(r.DropMonths)));

    private static IEnumerable<YearMonth> MonthsOf(string text) =>
        text.Length == 0 ? [] : text.Split(' ').Select(m => YearMonthPattern.Iso.Parse(m).Value);

    /// <summary>Moves to <paramref name="next"/> when the table allows it; false (and nothing changed) when it does not.</summary>
    public bool MoveTo(ReleaseState next, DateTimeOffset now)
    {
        if (!Moves[State].Contains(next))
            return false;
        State = next;
        Revision++;
        switch (next)
        {
            case ReleaseState.Draft: (CheckedAt, FolderMark) = (null, ""); break;
            case ReleaseState.Checked: CheckedAt = now; CheckAskedAt = null; break;
            case ReleaseState.Sealed: SealedAt ??= now; SealAskedAt = null; break;
            case ReleaseState.Published: PublishedAt = TellAskedAt = now; break;
            case ReleaseState.Withdrawn: WithdrawnAt = TellAskedAt = now; break;
        }
        return true;
    }
}

public sealed class ReleaseConfiguration : IEntityTypeConfiguration<Release>
{
    public void Configure(EntityTypeBuilder<Release> builder)
    {
        builder.HasIndex(r => new { r.LibraryId, r.Number }).IsUnique();
        builder.HasIndex(r => r.State);
        builder.Property(r => r.State).HasConversion<string>();
        builder.Property(r => r.PublishAfterSealFor).HasConversion<string>();
        builder.Property(r => r.Revision).IsConcurrencyToken();
        builder.HasMany(r => r.Players).WithOne().HasForeignKey(p => p.ReleaseId).OnDelete(DeleteBehavior.Cascade);
        builder.HasMany(r => r.Files).WithOne().HasForeignKey(f => f.ReleaseId).OnDelete(DeleteBehavior.Cascade);
    }
}
