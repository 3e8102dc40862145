using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Send;

/// <summary>What `shelf send` was told. The token is a secret: it goes into one header and nowhere else.</summary>
internal sealed record SendOrder(string Folder, Uri Shelf, string Library, string? Number, string Token)
{
    /// <summary>Environment variable for the token, so that it stays out of command histories and process lists.</summary>
    public const string TokenVariable = "SHELF_TOKEN";

    /// <summary>CouldNotRunException when the address or the token can't be.</summary>
    public static SendOrder Read(string folder, string to, string library, string? number, string? token)
    {
        if (!Uri.TryCreate(to.TrimEnd('/') + "/", UriKind.Absolute, out var shelf) || shelf.Scheme is not ("http" or "https"))
            throw new CouldNotRunException($"\"{to}\" is not a shelf's address. Give it as in a browser, such as https://shelf.example.");
        token = string.IsNullOrWhiteSpace(token) ? Environment.GetEnvironmentVariable(TokenVariable) : token;
        if (string.IsNullOrWhiteSpace(token))
            throw new CouldNotRunException($"an upload token is needed. Make one at {shelf}workbench/tokens and put it in {TokenVariable}, or give --token.");
        return token.Any(c => !char.IsAscii(c) || char.IsControl(c))
            ? throw new CouldNotRunException("the upload token holds letters that no token has. Copy it again from the workbench.")
            : new SendOrder(folder, shelf, library, number, token.Trim());
    }
}
