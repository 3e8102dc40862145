using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;

namespace LibraryShelf.Web.Tests.Pages.Shelf;

/// <summary>Rows of a shelf as the pages need them; no files behind them.</summary>
internal static class ShelfRows
{
    public static readonly DateTimeOffset FirstDay = new(2026, 1, 10, 12, 0, 0, TimeSpan.Zero);

    /// <summary>A library for <paramref name="audience"/> (null: undecided), with these published numbers a day apart from <see cref="FirstDay"/>.</summary>
    public static async Task<Library> AddBoxAsync(
        this ShelfDb db, string title, Audience? audience, string sound, params string[] numbers)
    {
        var library = new Library
        {
            Title = title, Slug = Slug(title), Sound = sound, Sentence = $"{title}, found and mended.",
            Paint = Paint.Samphire, CreatedAt = FirstDay,
        };
        if (audience is { } decided)
            library.Audiences.Add(new AudienceDecision { Audience = decided, DecidedAt = FirstDay });
        db.Libraries.Add(library);
        await db.SaveChangesAsync();
        for (var i = 0; i < numbers.Length; i++)
            await db.AddPublishedAsync(library, numbers[i], FirstDay.AddDays(i));
        return library;
    }

    public static async Task<Release> AddPublishedAsync(this ShelfDb db, Library library, string number, DateTimeOffset day, Action<Release>? with = null, bool isEarly = false)
    {
        var release = new Release
        {
            LibraryId = library.Id, Number = number, Notes = $"Notes of {number}.", CreatedAt = day,
            Recordings = 480, Keys = 25, LowestKey = 60, HighestKey = 84, Layers = 4, Takes = 2,
        };
        release.MoveTo(ReleaseState.Checked, day);
        release.MoveTo(ReleaseState.Sealed, day);
        release.MoveTo(isEarly ? ReleaseState.Early : ReleaseState.Published, day);
        with?.Invoke(release);
        db.Releases.Add(release);
        await db.SaveChangesAsync();
        db.Archives.Add(new Archive
        {
            ReleaseId = release.Id, Kind = ArchiveKind.Full, Length = 1_900_000_000, FileName = $"{library.Slug}-{number}.zip",
            RecipeSha256 = new string('9', 60) + "abcd", CreatedAt = day,
        });
        await db.SaveChangesAsync();
        return release;
    }

    public static string Slug(string title) => title.ToLowerInvariant().Replace(' ', '-');
}
