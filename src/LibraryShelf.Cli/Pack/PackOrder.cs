using System.Globalization;
using System.Text;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;
using LibraryShelf.Packaging.Comparisons;

namespace LibraryShelf.Cli.Pack;

/// <summary>What to pack, read from the command line and found to be possible.</summary>
internal sealed record PackOrder(string Folder, string Output, FullArchiveInput Input)
{
    /// <summary>CouldNotRunException, saying which option, when something can't be.</summary>
    public static PackOrder Read(
        string folder, string output, string title, string number, string? notes, string? licence, string? credits, string? dated,
        string? words)
    {
        if (string.IsNullOrWhiteSpace(title))
            throw new CouldNotRunException("--title is empty: the archive's folder is named after it.");
        if (ReleaseNumber.TryParse(number) is null)
            throw new CouldNotRunException($"--number \"{number}\" is not a version number such as 1.2.0 (semver.org 2.0.0).");
        if (words is not null && (notes ?? licence ?? credits ?? dated) is not null)
            throw new CouldNotRunException("--words already says notes, licence, credits and date: leave those options away.");
        var input = words is not null
            ? PackWords.Read(Text("--words", words), title, number)
            : FromOptions(title, number, notes, licence, credits, dated);
        return new PackOrder(folder, Outside(folder, output), input);
    }

    private static FullArchiveInput FromOptions(string title, string number, string? notes, string? licence, string? credits, string? dated)
    {
        var (spdx, licenceText) = Licence(licence);
        var date = Date(dated);
        return new FullArchiveInput
        {
            Title = title,
            Number = number,
            Files = [],
            Changes = [new ReleaseChange(number, dated is null ? null : date, Text("--notes", notes))],
            LicenceSpdx = spdx,
            LicenceText = licenceText,
            Credits = Text("--credits", credits),
            Dated = date,
        };
    }

    private static string Outside(string folder, string output)
    {
        var (inner, outer) = (Path.GetFullPath(output), Path.TrimEndingDirectorySeparator(Path.GetFullPath(folder)));
        if (inner.StartsWith(outer + Path.DirectorySeparatorChar, StringComparison.Ordinal))
            throw new CouldNotRunException($"--output {output} lies in the folder that is packed. Choose a place outside it.");
        if (Directory.Exists(inner))
            throw new CouldNotRunException($"--output {output} is a folder. Give the archive's file name too.");
        if (!Directory.Exists(Path.GetDirectoryName(inner)))
            throw new CouldNotRunException($"--output {output}: there is no folder {Path.GetDirectoryName(inner)}.");
        return inner;
    }

    private static DateOnly Date(string? dated)
    {
        if (dated is null)
            return Recipe.Undated;
        return DateOnly.TryParseExact(dated, "yyyy-MM-dd", CultureInfo.InvariantCulture, DateTimeStyles.None, out var date)
            && date >= Recipe.Undated && date <= Recipe.LastDate
            ? date
            : throw new CouldNotRunException($"--dated \"{dated}\" is not a date such as 2026-03-01 between 1980 and 2107.");
    }

    /// <summary>A file of that name is the maker's own text; otherwise it has to look like an SPDX id, and not like a mistyped file name.</summary>
    private static (string? Spdx, string Text) Licence(string? licence)
    {
        if (licence is null)
            return (null, "");
        if (File.Exists(licence))
            return (null, Text("--licence", licence));
        var isId = licence.Length is > 0 and <= 60 && licence.All(c => char.IsAsciiLetterOrDigit(c) || c is '-' or '.' or '+')
            && !licence.EndsWith(".txt", StringComparison.OrdinalIgnoreCase) && !licence.EndsWith(".md", StringComparison.OrdinalIgnoreCase);
        return isId ? (licence, "") : throw new CouldNotRunException($"--licence {licence} is neither a file nor an SPDX licence id such as CC-BY-4.0.");
    }

    private static string Text(string option, string? path)
    {
        if (path is null)
            return "";
        if (!File.Exists(path))
            throw new CouldNotRunException($"{option}: there is no file {path}.");
        try
        {
            return new UTF8Encoding(encoderShouldEmitUTF8Identifier: false, throwOnInvalidBytes: true).GetString(File.ReadAllBytes(path));
        }
        catch (DecoderFallbackException e)
        {
            throw new CouldNotRunException($"{option}: {path} is not UTF-8 text. Save it as UTF-8.", e);
        }
    }
}
