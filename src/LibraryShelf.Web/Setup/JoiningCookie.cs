using System.Security.Cryptography;
using System.Text;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// Tells the browser that began to join from any other that opens the way back: whoever paid could hand on that address, and the other would
/// be signed in as them. Holds a hash of the way back's token, and is sent to the pages of joining alone.
/// </summary>
internal static class JoiningCookie
{
    internal const string Name = "shelf-joining";

    /// <summary>A payment page is open for a day at most.</summary>
    private static readonly TimeSpan KeptFor = TimeSpan.FromDays(1);

    /// <param name="response">The one that leads to the payment page.</param>
    /// <param name="token">Of the way back.</param>
    public static void Set(HttpResponse response, string token) =>
        response.Cookies.Append(Name, HashOf(token), Options(response.HttpContext.Request, KeptFor));

    public static bool IsBegunHere(HttpRequest request, string token) =>
        request.Cookies[Name] is { } held && CryptographicOperations.FixedTimeEquals(Encoding.UTF8.GetBytes(held), Encoding.UTF8.GetBytes(HashOf(token)));

    public static void Forget(HttpResponse response) => response.Cookies.Delete(Name, Options(response.HttpContext.Request, null));

    // Lax: the way back is a link from the payment page's site. Secure is said by the rules for all cookies.
    private static CookieOptions Options(HttpRequest request, TimeSpan? keptFor) => new()
    {
        Path = request.PathBase + "/join", HttpOnly = true, SameSite = SameSiteMode.Lax, MaxAge = keptFor, IsEssential = true,
    };

    private static string HashOf(string token) => Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes("the browser that joins " + token)));
}
