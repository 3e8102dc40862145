namespace LibraryShelf.Web.Admin;

/// <summary>
/// The command line behind the first word "admin". Settings (--Shelf:DataDirectory=…) go to the configuration as they do for the
/// server; what is left must be a command, its words and its flags.
/// </summary>
/// <param name="Words">The command first.</param>
/// <param name="Flags">Without a value, such as --remove-passkeys.</param>
/// <param name="Settings">With a value.</param>
internal sealed record AdminArguments(IReadOnlyList<string> Words, IReadOnlyList<string> Flags, string[] Settings)
{
    private const string FirstWord = "admin";

    /// <returns>Null when the program is to serve the shelf.</returns>
    public static AdminArguments? Read(string[] args)
    {
        if (args.Length == 0 || args[0] != FirstWord)
            return null;
        var rest = args.Skip(1).ToLookup(a => !a.StartsWith("--", StringComparison.Ordinal) ? 'w' : a.Contains('=', StringComparison.Ordinal) ? 's' : 'f');
        return new([.. rest['w']], [.. rest['f']], [.. rest['s']]);
    }
}
