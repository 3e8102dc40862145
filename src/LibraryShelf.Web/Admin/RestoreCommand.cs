using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Upkeep;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Admin;

/// <summary>`shelf-admin restore [NAME]`, in words.</summary>
internal static class RestoreCommand
{
    private const string WithoutDamaged = "--without-damaged", DatabaseIsRestored = "--database-is-restored", Trial = "--trial";

    public static bool Understands(IReadOnlyList<string> flags) => flags.All(f => f is WithoutDamaged or DatabaseIsRestored or Trial);

    public static async Task<(int Code, string Words)> RunAsync(IServiceProvider services, string? name, IReadOnlyList<string> flags)
    {
        var wish = new RestoreWish(name, flags.Contains(WithoutDamaged), flags.Contains(DatabaseIsRestored), flags.Contains(Trial));
        return await services.GetRequiredService<RestoreBackup>().RunAsync(wish, CancellationToken.None) switch
        {
            RestoreOutcome.Restored restored => (AdminProgram.Done, Words(restored, services.GetRequiredService<DataPaths>().Root)),
            RestoreOutcome.Refused refused => (AdminProgram.NotDone, refused.Words),
            _ => throw new InvalidOperationException("An outcome without words."),
        };
    }

    private static string Words(RestoreOutcome.Restored restored, string root)
    {
        var counts = string.Join(", ", restored.Manifest.Counts.Select(c => $"{c.Value} {c.Key}"));
        List<string> lines =
        [
            $"The backup {restored.Name} is restored into {root}: {counts}; {Plural.Of(restored.Manifest.Blobs.Count - restored.Without.Count, "file")} of recordings and archives, each as it was.",
            restored.IsTrial
                ? "It is a trial: for good it sends no mail and no drop, makes no backups and changes nothing at the payment provider. Nothing turns it into the shelf; restore without --trial for that."
                : $"It starts quiet: no drop goes out, no mail but those to sign in, and nothing is changed at the payment provider, until the maker says on the workbench’s first page that this is the one shelf. {Plural.Of(restored.Mails, "mail")} {(restored.Mails == 1 ? "waits" : "wait")}.",
            "Download links made before open nothing any more. Everybody signs in anew: the maker with the password or passkey of the backup, members by mail.",
            "Paid memberships are looked at again at the payment provider when it starts.",
        ];
        if (restored.Tokens > 0)
            lines.Add($"{Plural.Of(restored.Tokens, "upload token")} {(restored.Tokens == 1 ? "was" : "were")} revoked, because one may have been since: make new ones under Tokens.");
        if (restored.Stops > 0)
            lines.Add($"{Plural.Of(restored.Stops, "stop")} of mails made since {(restored.Stops == 1 ? "holds" : "hold")} again: nobody is written to who does not want it.");
        if (restored.DeletedAgain > 0)
            lines.Add($"{Plural.Of(restored.DeletedAgain, "person")} who had themselves deleted since {(restored.DeletedAgain == 1 ? "was" : "were")} deleted again.");
        if (restored.Without.Count + restored.Manifest.Missing.Count > 0)
            lines.Add($"Not there, because no whole copy of it is: {string.Join(", ", restored.Without.Concat(restored.Manifest.Missing))}. Versions with such a file can’t be downloaded until its folder is sent again.");
        lines.Add("Give the folder to the user the shelf runs as, if that is another, and start the shelf.");
        return string.Join('\n', lines);
    }
}
