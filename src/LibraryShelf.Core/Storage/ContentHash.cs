namespace LibraryShelf.Core.Storage;

/// <summary>The form of a blob's address: SHA-256 as 64 lower-case hex digits (FIPS 180-4). Nothing else ever becomes a path.</summary>
public static class ContentHash
{
    public const int Digits = 64;

    public static bool IsValid(string? text) =>
        text is { Length: Digits } && text.All(char.IsAsciiHexDigitLower);
}
