using LibraryShelf.Core.Shared;
using MimeKit;

namespace LibraryShelf.Adapters.Mail;

public sealed record KeptMailLine(string FileName, string To, string Subject, DateTimeOffset Date);

/// <param name="Headers">As they stand, in order.</param>
/// <param name="Text">The plain text part; empty when there is none.</param>
public sealed record KeptMail(string FileName, IReadOnlyList<KeyValuePair<string, string>> Headers, string Subject, string Text);

/// <summary>Reads the mails kept as .eml files.</summary>
public sealed class OutboxFolder(DataPaths paths)
{
    public const string Ending = ".eml";

    private const int Most = 200;

    /// <returns>The newest 200, newest first.</returns>
    public async Task<IReadOnlyList<KeptMailLine>> ListAsync(CancellationToken cancellationToken)
    {
        if (!Directory.Exists(paths.Outbox))
            return [];
        var newest = Directory.EnumerateFiles(paths.Outbox, "*" + Ending)
            .OrderByDescending(Path.GetFileName, StringComparer.Ordinal).Take(Most);
        List<KeptMailLine> lines = [];
        foreach (var file in newest)
        {
            using var message = await LoadAsync(file, cancellationToken);
            if (message is not null)
                lines.Add(new(Path.GetFileName(file), message.To.ToString(), message.Subject ?? "", message.Date));
        }
        return lines;
    }

    /// <returns>Null when there is no such mail, or the name is not the bare name of one.</returns>
    public async Task<KeptMail?> ReadAsync(string fileName, CancellationToken cancellationToken)
    {
        if (!IsBareName(fileName))
            return null;
        using var message = await LoadAsync(Path.Combine(paths.Outbox, fileName), cancellationToken);
        if (message is null)
            return null;
        var headers = message.Headers.Select(h => KeyValuePair.Create(h.Field, h.Value)).ToList();
        return new(fileName, headers, message.Subject ?? "", message.TextBody ?? "");
    }

    /// <summary>Only characters <see cref="OutboxFolderMailer"/> writes: no separator of any system, no drive, no "..".</summary>
    private static bool IsBareName(string name) =>
        name.Length is > 4 and <= 200
        && name.EndsWith(Ending, StringComparison.Ordinal)
        && name.All(c => char.IsAsciiLetterOrDigit(c) || c is '-' or '.')
        && char.IsAsciiLetterOrDigit(name[0])
        && !name.Contains("..", StringComparison.Ordinal);

    private static async Task<MimeMessage?> LoadAsync(string file, CancellationToken cancellationToken)
    {
        try
        {
            return await MimeMessage.LoadAsync(file, cancellationToken);
        }
        catch (Exception e) when (e is IOException or FormatException)
        {
            return null;
        }
    }
}
