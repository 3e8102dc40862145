using System.Text.RegularExpressions;
using LibraryShelf.Core.Accounts;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Metadata;

namespace LibraryShelf.Core.Tests.Persons;

/// <summary>docs/privacy.md against the model: a table that can name somebody has its row, and each row its table.</summary>
public sealed partial class PrivacyTableTests
{
    /// <summary>Columns that name somebody by number or address.</summary>
    private static readonly string[] Naming = ["PersonId", "UserId", "Email", "NormalizedEmail", "OldEmail", "NewEmail", "To"];

    [Fact]
    public async Task Each_table_that_names_a_person_has_a_row_and_each_row_a_table()
    {
        await using var shelf = await TempShelf.MakeAsync();
        await using var db = shelf.Open();
        var rows = Row().Matches(await File.ReadAllTextAsync(Document())).Select(m => m.Groups[1].Value).ToList();
        Assert.Equal(rows.Count, rows.Distinct().Count());
        var tables = db.Model.GetEntityTypes().Where(t => !t.IsOwned()).ToDictionary(t => t.GetTableName()!, StringComparer.Ordinal);
        Assert.Empty(rows.Except(tables.Keys));
        var naming = tables.Where(t => NamesSomebody(t.Value)).Select(t => t.Key).ToList();
        Assert.Contains("Payments", naming);
        Assert.Empty(naming.Except(rows));
    }

    [Fact]
    public async Task Each_cell_is_written()
    {
        var lines = (await File.ReadAllLinesAsync(Document())).Where(l => Row().IsMatch(l)).ToList();
        Assert.All(lines, l => Assert.Equal(5, l.Trim('|', ' ').Split('|').Count(c => c.Trim().Length > 0)));
    }

    /// <summary>By how each place of the starting text begins, what it is about. A new table wants a word there, or the reason why not here.</summary>
    private static readonly Dictionary<string, string> Places = new()
    {
        ["- **Your e-mail address**"] = "AspNetUsers SignInTickets AddressChanges",
        ["- **Where you are signed in**"] = "Devices",
        ["- **What you follow**"] = "Followers",
        ["- **Which mails you want none of**"] = "MailRefusals",
        ["- **A mailbox that refuses for good**"] = "MailSuppressions",
        ["- **Your membership**"] = "MembershipGrants ImportedMembers",
        ["- **Your payments**"] = "Joinings PaidMemberships Payments PaidMonths FailedRenewals PriceChangeLines MonthCreditLines LeaveTickets",
        ["- **Your downloads**"] = "Downloads PersonVersions PersonFirsts",
        ["- **Faults you tell of**"] = "FaultReports",
        ["- **Early versions**"] = "EarlyGuests",
        ["- **The mails sent to you**"] = "Outbox",
        ["- **Withdrawn versions**"] = "WithdrawalNotices",
        ["Under Mine you see"] = "Deletions",
    };

    /// <summary>The maker's own passkeys, what is empty today, and a mark that is gone within minutes.</summary>
    private static readonly string[] Unsaid = ["AspNetUserPasskeys", "AspNetUserClaims", "AspNetUserLogins", "AspNetUserTokens", "VersionMarks"];

    [Fact]
    public async Task The_starting_text_has_a_place_for_each_row()
    {
        var lines = StartingTexts.English.Privacy.Split('\n');
        Assert.All(Places.Keys, p => Assert.Single(lines, l => l.StartsWith(p, StringComparison.Ordinal)));
        var rows = Row().Matches(await File.ReadAllTextAsync(Document())).Select(m => m.Groups[1].Value);
        Assert.Equal(rows.Order(StringComparer.Ordinal), Places.Values.SelectMany(v => v.Split(' ')).Concat(Unsaid).Order(StringComparer.Ordinal));
    }

    /// <summary>Those that the program names, the table's and the starting text's are the same.</summary>
    [Fact]
    public async Task The_starting_text_names_each_cookie_and_no_other()
    {
        var setup = Path.Combine(Path.GetDirectoryName(Document())!, "..", "src", "LibraryShelf.Web", "Setup");
        var made = Directory.EnumerateFiles(setup, "*.cs").SelectMany(f => NamedInCode().Matches(File.ReadAllText(f))).Select(m => m.Groups[1].Value).Order(StringComparer.Ordinal).ToList();
        Assert.Contains("shelf-person", made);
        Assert.Equal(made, Cookie().Matches(await File.ReadAllTextAsync(Document())).Select(m => m.Groups[1].Value).Order(StringComparer.Ordinal));
        Assert.Equal(made, CookieSaid().Matches(StartingTexts.English.Privacy).Select(m => m.Groups[1].Value).Order(StringComparer.Ordinal));
    }

    /// <summary>By a column of its own, or through a row that has one (a membership, for its tickets).</summary>
    private static bool NamesSomebody(IEntityType type) =>
        type.GetProperties().Any(p => Naming.Contains(p.Name, StringComparer.Ordinal) && (p.ClrType == typeof(string) || p.Name.EndsWith("Id", StringComparison.Ordinal)))
        || type.GetForeignKeys().Any(k => k.PrincipalEntityType.ClrType == typeof(Person) || k.PrincipalEntityType.GetProperties().Any(p => p.Name == "PersonId"));

    private static string Document()
    {
        for (var folder = new DirectoryInfo(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            if (Path.Combine(folder.FullName, "docs", "privacy.md") is var file && File.Exists(file))
                return file;
        }
        throw new FileNotFoundException("docs/privacy.md");
    }

    [GeneratedRegex(@"^\| `([A-Za-z]+)` \|", RegexOptions.Multiline, 1000)]
    private static partial Regex Row();

    [GeneratedRegex(@"^\| `(shelf-[a-z]+)` \|", RegexOptions.Multiline, 1000)]
    private static partial Regex Cookie();

    [GeneratedRegex(@"^- `(shelf-[a-z]+)` ", RegexOptions.Multiline, 1000)]
    private static partial Regex CookieSaid();

    /// <summary>A cookie's name is set as one, or is the constant of its class.</summary>
    [GeneratedRegex("(?:Cookie\\.Name|CookieName|const string Name) = \"(shelf-[a-z]+)\"", RegexOptions.None, 1000)]
    private static partial Regex NamedInCode();
}
