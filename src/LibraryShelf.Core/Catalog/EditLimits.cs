using System.Globalization;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Shared;
using LibraryShelf.Packaging.CheckSheets;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Catalog;

public abstract record EditLimitsOutcome
{
    private EditLimitsOutcome() { }

    /// <summary>Kept. <paramref name="JudgedAnew"/> is the release whose sheet is out of date by it and was asked to be checked; wake its check.</summary>
    public sealed record Saved(long? JudgedAnew) : EditLimitsOutcome;

    /// <summary>Nothing was changed; the fields are the limits' names.</summary>
    public sealed record Refused(IReadOnlyList<Refusal> Refusals) : EditLimitsOutcome;

    /// <summary>Other limits were saved since the form was filled, or at this very moment. Nothing was changed.</summary>
    public sealed record ChangedMeanwhile : EditLimitsOutcome;

    public sealed record Missing : EditLimitsOutcome;
}

/// <summary>
/// Changes what is expected of a library's recordings. A checked release, or one whose check is under way, is judged anew by the new limits;
/// nothing is measured anew. What is sealed, or about to be, stays as it was.
/// </summary>
public sealed class EditLimits(ShelfDb db, TimeProvider clock)
{
    /// <param name="slug">The library.</param>
    /// <param name="typed">Values as typed, by the limit's name; a missing or empty one is the default.</param>
    /// <param name="filledFrom">The library's limits when the form was filled; null: whatever stands is replaced.</param>
    /// <param name="cancellationToken">Ends the work before it is kept.</param>
    public Task<EditLimitsOutcome> RunAsync(
        string slug, IReadOnlyDictionary<string, string?> typed, string? filledFrom, CancellationToken cancellationToken) =>
        FreshEyes.LookAsync<EditLimitsOutcome>(db, () => EditAsync(slug, typed, filledFrom, cancellationToken), () => new EditLimitsOutcome.ChangedMeanwhile());

    private async Task<EditLimitsOutcome> EditAsync(
        string slug, IReadOnlyDictionary<string, string?> typed, string? filledFrom, CancellationToken cancellationToken)
    {
        var library = await db.Libraries.Include(l => l.Releases.Where(r => r.SealedAt == null)).FirstOrDefaultAsync(l => l.Slug == slug, cancellationToken);
        if (library is null)
            return new EditLimitsOutcome.Missing();
        var (limits, refusals) = Read(typed);
        if (refusals.Count > 0)
            return new EditLimitsOutcome.Refused(refusals);
        var text = LimitsText.Write(limits);
        if (library.Limits == text)
            return new EditLimitsOutcome.Saved(null);
        if (filledFrom is not null && library.Limits != filledFrom)
            return new EditLimitsOutcome.ChangedMeanwhile();
        library.Limits = text;
        library.Revision++;
        var open = library.Releases.Find(r => r.SealAskedAt is null && (r.State == ReleaseState.Checked || r.CheckAskedAt is not null));
        if (open is not null)
        {
            DraftContents.Changed(open, clock.GetUtcNow());
            open.CheckAskedAt = clock.GetUtcNow();
        }
        await db.SaveChangesAsync(cancellationToken);
        return new EditLimitsOutcome.Saved(open?.Id);
    }

    private static (LibraryLimits Limits, List<Refusal> Refusals) Read(IReadOnlyDictionary<string, string?> typed)
    {
        var (limits, refusals) = (LibraryLimits.Default, new List<Refusal>());
        foreach (var limit in Limit.All)
        {
            if (typed.GetValueOrDefault(limit.Name)?.Trim() is not { Length: > 0 } text)
                continue;
            var value = ReadNumber(text);
            if (limit.WhyRefused(value) is { } words)
                refusals.Add(new Refusal(limit.Name, words));
            else
                limits = limit.With(limits, value);
        }
        return (limits, refusals);
    }

    /// <summary>With a point or a comma before decimals and either minus; NaN when it is no number.</summary>
    private static double ReadNumber(string text) =>
        double.TryParse(text.Replace(',', '.').Replace('−', '-'), NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var value)
            ? value : double.NaN;
}
