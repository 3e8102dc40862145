using System.Data.Common;
using Microsoft.EntityFrameworkCore.Diagnostics;

namespace LibraryShelf.Data.Postgres;

/// <summary>
/// PostgreSQL's text can't hold U+0000 (https://www.postgresql.org/docs/current/datatype-character.html) and refuses the whole
/// statement. Nobody types one, but anyone can send one in a form: it is left out, so that it is no fault.
/// </summary>
internal sealed class TextWithoutNul : DbCommandInterceptor
{
    public static readonly TextWithoutNul Instance = new();

    public override DbCommand CommandInitialized(CommandEndEventData eventData, DbCommand result)
    {
        foreach (DbParameter parameter in result.Parameters)
        {
            parameter.Value = parameter.Value switch
            {
                string text when HasNul(text) => Without(text),
                IEnumerable<string?> texts when texts.Any(HasNul) => texts.Select(Without).ToArray(),
                var other => other,
            };
        }
        return result;
    }

    private static bool HasNul(string? text) => text is not null && text.Contains('\0', StringComparison.Ordinal);

    private static string? Without(string? text) => text?.Replace("\0", "", StringComparison.Ordinal);
}
