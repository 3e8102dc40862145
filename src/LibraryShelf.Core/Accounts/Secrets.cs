using System.Buffers.Text;
using System.Security.Cryptography;
using System.Text;

namespace LibraryShelf.Core.Accounts;

/// <summary>Tokens and codes: made from the system's random source, stored hashed, never logged.</summary>
internal static class Secrets
{
    /// <summary>Letters and figures that can't be mistaken for one another on a phone: no 0, 1, I, L, O, U.</summary>
    public const string CodeAlphabet = "23456789ABCDEFGHJKMNPQRSTVWXYZ";

    public const int CodeLength = 8;

    /// <summary>A code is short (39 bits), so each guess at a stolen row is made to cost.</summary>
    private const int CodeIterations = 50_000;

    /// <summary>256 random bits, base64url, 43 characters.</summary>
    public static string NewToken() => Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(32));

    /// <summary>128 random bits, base64url: for a link that stops mails and opens nothing, so that it may be kept in the clear and stand in every mail.</summary>
    public static string NewKey() => Base64Url.EncodeToString(RandomNumberGenerator.GetBytes(16));

    public static string NewCode() => RandomNumberGenerator.GetString(CodeAlphabet, CodeLength);

    /// <summary>SHA-256, lower-case hex. Enough for a token of 256 random bits.</summary>
    public static string Hash(string token) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(token)));

    /// <summary>PBKDF2-HMAC-SHA-256 of a code, salted with its ticket's token hash; lower-case hex.</summary>
    public static string HashCode(string tokenHash, string code) => Convert.ToHexStringLower(Rfc2898DeriveBytes.Pbkdf2(
        Encoding.UTF8.GetBytes(code), Encoding.UTF8.GetBytes("code:" + tokenHash), CodeIterations, HashAlgorithmName.SHA256, 32));

    public static bool IsSame(string oneHash, string otherHash) =>
        CryptographicOperations.FixedTimeEquals(Encoding.UTF8.GetBytes(oneHash), Encoding.UTF8.GetBytes(otherHash));

    /// <summary>A code as typed: any case, with or without spaces and hyphens.</summary>
    public static string Tidy(string typed) =>
        string.Concat(typed.Where(char.IsAsciiLetterOrDigit)).ToUpperInvariant();

    /// <summary>ABCD-EFGH: two groups are easier to carry from one screen to another.</summary>
    public static string Show(string code) => string.Concat(code.AsSpan(0, CodeLength / 2), "-", code.AsSpan(CodeLength / 2));
}
