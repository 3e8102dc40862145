namespace LibraryShelf.Web.Practice;

/// <summary>The stand-in's addresses on this site.</summary>
internal static class PracticePlaces
{
    /// <summary>Where its programming interface stands; the client adds /v1/….</summary>
    public const string Root = "/practice";

    public static string Checkout(string id) => $"{Root}/checkout/{id}";

    public static string Portal(string id) => $"{Root}/portal/{id}";

    /// <summary>On the same site as an address of ours that a browser is to come back to.</summary>
    public static string At(string ours, string path) => new Uri(ours).GetLeftPart(UriPartial.Authority) + path;
}
