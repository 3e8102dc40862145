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
}
