using LibraryShelf.Core.Data;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Infrastructure;

namespace LibraryShelf.Data.Postgres;

/// <summary>
/// Gives every text column the collation "C": sorted by code point, as SQLite's BINARY and StringComparer.Ordinal over UTF-8 do,
/// whatever language the server's database was made for (https://www.postgresql.org/docs/current/collation.html).
/// </summary>
internal sealed class TextByCodePoint(ModelCustomizerDependencies dependencies) : RelationalModelCustomizer(dependencies)
{
    private const string ByCodePoint = "C";

    public override void Customize(ModelBuilder modelBuilder, DbContext context)
    {
        base.Customize(modelBuilder, context);
        var texts = modelBuilder.Model.GetEntityTypes().Where(t => !t.IsMappedToJson())
            .SelectMany(t => t.GetDeclaredProperties())
            .Where(p => (p.GetProviderClrType() ?? p.GetValueConverter()?.ProviderClrType ?? p.ClrType) == typeof(string));
        foreach (var text in texts)
            text.SetCollation(ByCodePoint);
    }
}
