using LibraryShelf.Core.Shared;

namespace LibraryShelf.Web.Pages.Words;

/// <summary>Sizes on pages, in the words of <see cref="DataSize"/>.</summary>
internal static class Sizes
{
    /// <summary>"812 bytes", "38 MB", "1.9 GB". <paramref name="bytes"/> is 0 or more.</summary>
    public static string Of(long bytes) => DataSize.Of(bytes);
}
