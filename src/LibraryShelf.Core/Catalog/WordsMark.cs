using System.Security.Cryptography;
using System.Text.Json;

namespace LibraryShelf.Core.Catalog;

/// <summary>A short mark of some words, by which a form tells which ones it was filled from.</summary>
internal static class WordsMark
{
    private const int Digits = 32;

    public static string Of(IEnumerable<string> words) =>
        Convert.ToHexStringLower(SHA256.HashData(JsonSerializer.SerializeToUtf8Bytes(words)))[..Digits];
}
