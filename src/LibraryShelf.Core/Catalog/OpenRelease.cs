using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Catalog;

/// <summary>The guard of every verb that changes a release: a sealed one, or one about to be, is left as it is.</summary>
internal static class OpenRelease
{
    /// <summary>Why <paramref name="release"/> can't be changed; null when it can.</summary>
    public static Refusal? Refuse(Release release)
    {
        if (release.IsSealed)
            return new("", T($"Version {release.Number} is sealed and can’t be changed any more. Start a new version to mend it."));
        return release.SealAskedAt is null ? null
            : new("", T($"Version {release.Number} is being sealed just now. Nothing was changed; look again in a moment."));
    }
}
