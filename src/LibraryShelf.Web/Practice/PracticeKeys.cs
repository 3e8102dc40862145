using System.Security.Cryptography;
using System.Text;

namespace LibraryShelf.Web.Practice;

/// <summary>What the client and the stand-in know each other by: made anew at each start, written nowhere.</summary>
internal sealed class PracticeKeys
{
    public string Key { get; } = "sk_practice_" + RandomNumberGenerator.GetHexString(48, lowercase: true);

    public string MessageSecret { get; } = "whsec_" + RandomNumberGenerator.GetHexString(48, lowercase: true);

    public bool IsKey(string? authorization) => CryptographicOperations.FixedTimeEquals(
        Encoding.UTF8.GetBytes(authorization ?? ""), Encoding.UTF8.GetBytes("Bearer " + Key));

    /// <summary>"t=…,v1=…", by the documented scheme: HMAC-SHA256 of "t.body" with the secret.</summary>
    public string Sign(string body, long at) =>
        $"t={at},v1={Convert.ToHexStringLower(HMACSHA256.HashData(Encoding.UTF8.GetBytes(MessageSecret), Encoding.UTF8.GetBytes($"{at}.{body}")))}";
}
