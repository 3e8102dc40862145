using System.Reflection;

namespace LibraryShelf.Core.Accounts;

/// <summary>
/// Terms, privacy and licence texts a new shop may start from, in Markdown. Each opens by saying that it is no legal advice.
/// {shop}, {contact} and {address} stand for what the maker enters and are filled in when the shelf is claimed.
/// </summary>
public static class StartingTexts
{
    public static string Terms { get; } = Read("terms");
    public static string Privacy { get; } = Read("privacy");
    public static string Licence { get; } = Read("licence");

    internal static string Fill(string text, string shop, string contact, string address) => text
        .Replace("\r\n", "\n", StringComparison.Ordinal)
        .Replace("{shop}", shop, StringComparison.Ordinal)
        .Replace("{contact}", contact, StringComparison.Ordinal)
        .Replace("{address}", address, StringComparison.Ordinal);

    private static string Read(string name)
    {
        var resource = $"{typeof(StartingTexts).Namespace}.StartingTexts.{name}.md";
        using var stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(resource)
            ?? throw new InvalidOperationException($"The starting text {resource} is not built in.");
        using var reader = new StreamReader(stream);
        return reader.ReadToEnd();
    }
}
