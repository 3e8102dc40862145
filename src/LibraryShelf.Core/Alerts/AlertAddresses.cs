using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Alerts;

/// <summary>A mail that was given up is told to the maker with its address, which then stands in the alert's words.</summary>
internal static class AlertAddresses
{
    /// <summary>The caller saves.</summary>
    /// <param name="instead">What stands there from now on.</param>
    public static async Task ReplaceAsync(ShelfDb db, string address, string instead, CancellationToken cancellationToken)
    {
        foreach (var alert in await db.Alerts.Where(a => a.Words.Contains(address)).ToListAsync(cancellationToken))
            alert.Words = alert.Words.Replace(address, instead, StringComparison.Ordinal);
    }
}
