namespace LibraryShelf.Packaging.Folders;

/// <summary>A file of a library folder: its path with '/' between parts, and its size in bytes.</summary>
public sealed record FolderFile(string Path, long Size);
