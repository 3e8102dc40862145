using System.Text.RegularExpressions;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Shared;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Core.Tests.Accounts;

/// <summary>The verbs of signing in, each in a context of its own, as each request has one.</summary>
internal static partial class TempAccounts
{
    public const string Wren = "wren@post.example";

    public static IOptions<ShelfSettings> Settings { get; } = Options.Create(new ShelfSettings());

    public static async Task<AskOutcome> AskAsync(this TempShelf shelf, string? email = Wren)
    {
        await using var db = shelf.Open();
        return await new AskForSignIn(db, shelf.Clock, Settings).RunAsync(email, "https://shelf.example", "", CancellationToken.None);
    }

    public static async Task<SignInOutcome> UseAsync(this TempShelf shelf, SignInProof proof)
    {
        await using var db = shelf.Open();
        return await new UseSignIn(db, shelf.Clock).RunAsync(proof, CancellationToken.None);
    }

    /// <summary>What the newest mail to this address says.</summary>
    public static async Task<(string Token, string Code)> MailedAsync(this TempShelf shelf, string email = Wren)
    {
        await using var db = shelf.Open();
        var text = await db.Outbox.Where(m => m.To == email).OrderByDescending(m => m.Id).Select(m => m.Text).FirstAsync();
        return (Token().Match(text).Groups[1].Value, Code().Match(text).Value);
    }

    [GeneratedRegex("https://shelf\\.example/sign-in/([A-Za-z0-9_-]{43})$", RegexOptions.Multiline, 1000)]
    private static partial Regex Token();

    [GeneratedRegex("^[2-9A-Z]{4}-[2-9A-Z]{4}$", RegexOptions.Multiline, 1000)]
    private static partial Regex Code();
}
