using LibraryShelf.Web.Tests.Endpoints;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>What the doors of pictures are knocked at with: a version of which something was measured.</summary>
internal static class KeyprintThings
{
    public static bool Knows(DoorRow row) => row.Path.StartsWith("/boxes/{slug}/{number}/", StringComparison.Ordinal) && (row.Path.EndsWith(".svg", StringComparison.Ordinal) || row.Path.EndsWith(".png", StringComparison.Ordinal));

    public static async Task<Knock> ForAsync(DoorWorld world, DoorRow row)
    {
        var (slug, id) = row.Case == "given early" ? await world.EarlyAsync() : world.Free;
        await world.Host.MeasuredAsync(id);
        return new(row.Method, row.Path.Replace("{slug}", slug, StringComparison.Ordinal).Replace("{number}", "1.0.0", StringComparison.Ordinal));
    }
}
