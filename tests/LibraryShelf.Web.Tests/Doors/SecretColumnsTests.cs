using System.Text.RegularExpressions;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>
/// Every column whose name sounds like a secret's, taken from the model, stands in a written list that says how it is kept; so one that a new table brings can't
/// go by unseen. <see cref="SecretTests"/> walks past the secrets themselves.
/// </summary>
public sealed partial class SecretColumnsTests
{
    private const string Hashed = "hashed";

    private static readonly SortedDictionary<string, string> HowKept = new(StringComparer.Ordinal)
    {
        ["AddressChanges.NewTokenHash"] = Hashed,
        ["AddressChanges.OldTokenHash"] = Hashed,
        ["AspNetUserLogins.ProviderKey"] = "unused: nobody signs in by way of another site",
        ["AspNetUserPasskeys.ClientDataJson"] = "what a browser said when a passkey was made: no secret (WebAuthn Level 3 §5.8.1)",
        ["AspNetUserPasskeys.CredentialId"] = "names a passkey: no secret",
        ["AspNetUserPasskeys.IdentityUserPasskeyCredentialId"] = "the same",
        ["AspNetUserPasskeys.PublicKey"] = "public; the private one never leaves its device",
        ["AspNetUsers.ConcurrencyStamp"] = "counts versions of a row: opens nothing",
        ["AspNetUsers.LetterKey"] = "in the clear, because each mail carries it; stops mails and opens nothing else",
        ["AspNetUsers.PasswordHash"] = Hashed,
        ["AspNetUsers.SecurityStamp"] = "compared with a cookie that the data-protection key signs: opens nothing without it",
        ["DataProtectionKeys.Xml"] = "keys of cookies, in the clear by nature: they must be used again after a start",
        ["Followers.Key"] = "in the clear, because each mail carries it; stops following and opens nothing else",
        ["Joinings.TokenHash"] = Hashed,
        ["LeaveTickets.TokenHash"] = Hashed,
        ["LinkKeys.Secret"] = "keys that sign links, in the clear by nature",
        ["MemberImports.FileHash"] = "of a list's bytes: no secret",
        ["SheetEntries.Code"] = "a check's name",
        ["SignInTickets.CodeHash"] = Hashed,
        ["SignInTickets.TokenHash"] = Hashed,
        ["UploadTokens.TokenHash"] = Hashed,
    };

    [Fact]
    public async Task Every_column_that_sounds_like_a_secret_is_in_the_list_and_the_hashed_ones_hold_hashes()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        await host.PersonAsync(ShelfHost.MakerEmail, isMaker: true, DoorWorld.Password);
        var visitor = host.Visitor();
        await visitor.PressAndStayAsync(await visitor.PageAsync("/sign-in"), "Send me the mail", ("Email", "dunlin@post.example"));
        var sounding = await host.AskDbAsync(db => Task.FromResult(db.Model.GetEntityTypes()
            .SelectMany(e => e.GetProperties().Where(p => p.ClrType == typeof(string) || p.ClrType == typeof(byte[])).Select(p => $"{e.GetTableName()}.{p.GetColumnName()}"))
            .Where(c => SoundsSecret.IsMatch(c)).ToHashSet(StringComparer.Ordinal)));
        Assert.Equal(HowKept.Keys.Order(StringComparer.Ordinal), sounding.Order(StringComparer.Ordinal));

        var seen = new HashSet<string>(StringComparer.Ordinal);
        var wrong = new List<string>();
        await ShelfState.ForEachRowAsync(host, (table, row) =>
        {
            foreach (var (column, value) in row.Where(c => c.Value.Length > 0 && HowKept.GetValueOrDefault($"{table}.{c.Column}") == Hashed))
            {
                seen.Add($"{table}.{column}");
                // SHA-256 or PBKDF2 in hex; the password's as ASP.NET Core Identity's version 3 writes it, base64 of 61 bytes.
                if (!Hash.IsMatch(value))
                    wrong.Add($"{table}.{column} holds “{value}”");
            }
        });
        Assert.Empty(wrong);
        Assert.Superset(new HashSet<string> { "SignInTickets.TokenHash", "SignInTickets.CodeHash", "AspNetUsers.PasswordHash" }, seen);
    }

    [GeneratedRegex("(Token|Secret|Hash|Code|Stamp|Key|Password|Xml|Credential|Cookie|Data|Signature)[A-Za-z]*$", RegexOptions.NonBacktracking)]
    private static partial Regex SoundsSecret { get; }

    [GeneratedRegex("^([0-9a-f]{64}|[A-Za-z0-9+/]{82}==)$", RegexOptions.NonBacktracking)]
    private static partial Regex Hash { get; }
}
