namespace LibraryShelf.Packaging.Mappings;

/// <summary>Turns a path written in a mapping into a path of the library folder.</summary>
internal static class FolderReference
{
    /// <summary>
    /// Resolves <paramref name="written"/> (either slash) against the mapping's folder; null when it is absolute, names a drive or
    /// climbs out of the library folder.
    /// </summary>
    public static string? Resolve(string mappingPath, string written)
    {
        var text = written.Replace('\\', '/');
        if (text.StartsWith('/') || text.Contains(':', StringComparison.Ordinal))
            return null;
        var parts = new List<string>(mappingPath.Split('/')[..^1]);
        foreach (var part in text.Split('/'))
        {
            if (part is "" or ".")
                continue;
            if (part != "..")
                parts.Add(part);
            else if (parts.Count == 0)
                return null;
            else
                parts.RemoveAt(parts.Count - 1);
        }
        return parts.Count == 0 ? null : string.Join('/', parts);
    }
}
