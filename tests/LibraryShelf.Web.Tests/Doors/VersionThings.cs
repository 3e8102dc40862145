using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>What the doors of the letter to those left behind are knocked at with: the box that is free, about which none was written.</summary>
internal static class VersionThings
{
    public static bool Knows(DoorRow row) => row.Path.StartsWith("/workbench/numbers/versions/", StringComparison.Ordinal);

    public static async Task<Knock> ForAsync(DoorWorld world, DoorRow row)
    {
        await world.Host.WithDbAsync(db => db.BehindLetters.ExecuteDeleteAsync());
        return new(row.Method, row.Path.Replace("{slug}", world.Free.Slug, StringComparison.Ordinal))
        {
            Fields = row.IsLook ? null : [new("Words", "It is better."), new("ReleaseId", $"{world.Free.ReleaseId}")],
            ChangesNothing = row.Path.EndsWith("=Look", StringComparison.Ordinal),
        };
    }
}
