using LibraryShelf.Core.Catalog;
using NodaTime;

namespace LibraryShelf.Core.Drops;

/// <summary>What a month's drop may lack.</summary>
public enum DropLack
{
    /// <summary>No version stands in it.</summary>
    NoLibrary,
    /// <summary>A version is a draft or checked, and not sealed yet.</summary>
    NotSealed,
    /// <summary>Findings of a version not sealed yet are neither mended nor excused. Once it is sealed its sheet is closed, and nothing waits for it.</summary>
    OpenFindings,
    /// <summary>The maker has not declared the library's recordings hers to give.</summary>
    NotDeclared,
    /// <summary>The version's archive can't be read through.</summary>
    ArchiveDamaged,
    /// <summary>The version was withdrawn.</summary>
    Withdrawn,
}

/// <summary>One thing a drop lacks. <paramref name="Version"/>: of which version; null: of the month itself.</summary>
/// <param name="Lack">What.</param>
/// <param name="Version">Whose.</param>
/// <param name="Words">A sentence for the maker.</param>
public sealed record DropGap(DropLack Lack, DropVersion? Version, string Words);

/// <summary>A version in a drop, with what readiness asks of it.</summary>
/// <param name="ReleaseId">Which.</param>
/// <param name="Library">The library's title.</param>
/// <param name="Slug">The library's.</param>
/// <param name="Number">The version's.</param>
/// <param name="State">Where it stands.</param>
/// <param name="OpenFindings">Of its check sheet, must fix or listen again, neither mended nor excused.</param>
/// <param name="IsDeclared">The library's recordings are declared, or it was on the shelf before makers were asked.</param>
/// <param name="ArchiveTrouble">Why its archive can't be read through; null: it can, or was not read yet.</param>
/// <param name="IsFree">The library is free for everyone.</param>
public sealed record DropVersion(
    long ReleaseId, string Library, string Slug, string Number, ReleaseState State, int OpenFindings, bool IsDeclared, string? ArchiveTrouble, bool IsFree)
{
    public string Name => $"{Library} {Number}";
}

/// <summary>What a drop lacks to go out whole: the page's list and the sending ask the same. Pure.</summary>
public static class DropReadiness
{
    /// <param name="month">The drop's.</param>
    /// <param name="versions">All that stand in it.</param>
    /// <returns>Empty: it can go out.</returns>
    public static IReadOnlyList<DropGap> Of(YearMonth month, IReadOnlyList<DropVersion> versions) => versions.Count == 0
        ? [new DropGap(DropLack.NoLibrary, null, T($"{month.ToString("MMMM", Say.Culture)} has no library."))]
        : [.. versions.SelectMany(Of)];

    private static IEnumerable<DropGap> Of(DropVersion version)
    {
        if (version.State == ReleaseState.Withdrawn)
        {
            yield return new(DropLack.Withdrawn, version, T($"{version.Name} was withdrawn. Take it out."));
            yield break;
        }
        if (version.State is ReleaseState.Draft or ReleaseState.Checked)
        {
            yield return new(DropLack.NotSealed, version, T($"{version.Name} is not sealed."));
            if (version.OpenFindings > 0)
                yield return new(DropLack.OpenFindings, version, version.OpenFindings == 1
                    ? T($"{version.Name}: 1 finding is neither mended nor excused.")
                    : T($"{version.Name}: {version.OpenFindings} findings are neither mended nor excused."));
        }
        if (version.State != ReleaseState.Published && version.ArchiveTrouble is not null)
            yield return new(DropLack.ArchiveDamaged, version, T($"The archive of {version.Name} can’t be read through. Read it through again on its page."));
        if (!version.IsDeclared)
            yield return new(DropLack.NotDeclared, version, T($"The recordings of {version.Library} are not declared yours to give."));
    }
}
