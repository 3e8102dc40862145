using System.Text.RegularExpressions;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using Microsoft.CodeAnalysis.CSharp.Syntax;

namespace LibraryShelf.Architecture.Tests.Texts;

/// <summary>Looks in C# for sentences that people may read and that are not said by T(…): three words or more, outside of what only developers and logs read.</summary>
internal static partial class WordsInCode
{
    private static readonly string[] DevelopersExceptions =
        ["InvalidOperationException", "ArgumentException", "ArgumentNullException", "ArgumentOutOfRangeException", "UnreachableException", "NotSupportedException", "ObjectDisposedException", "InvalidCastException", "OptionsValidationException"];

    /// <summary>
    /// These speak English alone: what goes into an archive's bytes or is read out of them, words that rows keep and programs read, names that systems give; the practice shop, what is
    /// said before a language is chosen, answers to the payment provider's machine, what only shelf-admin shows, and a fault that only the log shows.
    /// </summary>
    private static readonly string[] English =
    [
        "/Archives/ArchiveTexts.cs", "/Archives/UpdateArchive.cs", "/Archives/UpdateBetween.cs", "/Archives/InstallReading.cs", "/Archives/RecipeText.cs", "/Archives/OsDroppings.cs",
        "/Drops/DropDay.cs", "/Statistics/TakeBackProbes.cs", "/Catalog/ReadFeed.cs", "/Admin/", "/Upkeep/RestoreBackup.cs",
        "/Setup/Demo/", "/Setup/LanguageSetup.cs", "/Setup/DayPatterns.cs", "/Accounts/StartingTexts.cs", "/Endpoints/PaymentEndpoints.cs", "/Endpoints/Serving/ArchiveBody.cs",
        "/Practice/Ask.cs", "/Practice/Billing.cs", "/Practice/Renewals.cs", "/Practice/StandInAnswers.cs", "/Practice/StandInEndpoints.cs", "/Practice/WayHome.cs",
    ];

    /// <summary>Names, the same in every language; and what tells English mails from others.</summary>
    private static readonly string[] Names = ["GNU General Public License 3.0 or later", "SIL Open Font License 1.1", "You get this mail", "Maximum Pool Size"];

    public static IEnumerable<(string File, int Line, string Words)> Unsaid(IEnumerable<string> files) => files.Where(f => !English.Any(e => f.Contains(e, StringComparison.Ordinal))).AsParallel().AsOrdered().SelectMany(file =>
        CSharpSyntaxTree.ParseText(File.ReadAllText(file)).GetRoot().DescendantNodes()
            .Where(n => n is InterpolatedStringExpressionSyntax || n.IsKind(SyntaxKind.StringLiteralExpression))
            .Where(n => IsSentence(TextOf(n)) || IsChosen(n)).Where(n => !Names.Contains(TextOf(n)) && !Machines().IsMatch(TextOf(n)) && !IsForOthers(n))
            .Select(n => (Path.GetRelativePath(Repository.Root, file), n.GetLocation().GetLineSpan().StartLinePosition.Line + 1, TextOf(n)))).ToList();

    private static string TextOf(SyntaxNode node) => node is InterpolatedStringExpressionSyntax filled
        ? string.Concat(filled.Contents.Select(c => c is InterpolatedStringTextSyntax words ? words.TextToken.ValueText : "…"))
        : ((LiteralExpressionSyntax)node).Token.ValueText;

    private static bool IsSentence(string text) => Sentence().IsMatch(text);

    /// <summary>One of several words that fill a hole: said by itself, whatever says the sentence around it.</summary>
    private static bool IsChosen(SyntaxNode node) => node.Parent is ConditionalExpressionSyntax or SwitchExpressionArmSyntax && node.Ancestors().Any(a => a is InterpolationSyntax)
        && Word().IsMatch(TextOf(node)) && !NoWord().IsMatch(TextOf(node));

    private static bool IsForOthers(SyntaxNode node) => node.Ancestors().TakeWhile(a => a is not InterpolationSyntax).Any(above => above switch
    {
        InvocationExpressionSyntax call => call.Expression.ToString() is "T" or "H" or "Say.T" or "PageText.H" or "Noun" or "Nouns" or "Plural.Of" or "nameof" or "AuthenticateResult.Fail"
            || call.Expression.ToString().Split('.')[^1].Split('<')[0] is "FromSqlRaw" or "ExecuteSqlRawAsync" or "HashData" or "Debug" or "LogInformation" or "LogWarning" or "LogError" or "LogCritical" or "LogDebug" or "HasComment" or "CreateCounter" or "CreateHistogram" or "CreateObservableGauge" or "CreateObservableCounter" or "CreateObservableUpDownCounter",
        ObjectCreationExpressionSyntax made => DevelopersExceptions.Contains(made.Type.ToString().Split('.')[^1]),
        AttributeSyntax => true,
        _ => false,
    });

    [GeneratedRegex(@"\p{L}[\p{L}’'-]*[,:;]? (\p{L}[\p{L}’'-]*|…)[,:;]? (\p{L}|…)")]
    private static partial Regex Sentence();

    [GeneratedRegex(@"\p{L}{2,}")]
    private static partial Regex Word();

    /// <summary>Names of fields and classes, addresses.</summary>
    [GeneratedRegex("^[a-z]+[A-Z]|^[-_/#.?]|[-_/=]")]
    private static partial Regex NoWord();

    /// <summary>SQL, HTML, CSS, patterns, policies of the browser.</summary>
    [GeneratedRegex(@"^\s*(SELECT|INSERT|UPDATE|DELETE|CREATE|DROP|ALTER|PRAGMA|VACUUM|SET|WITH|BEGIN|\(|<|@|default-src|GET |POST )|;\s*(q=|path=)|SQLite Error|ON CONFLICT| IS NOT NULL$|^(TRUE|FALSE)$|^margin:| FROM | WHERE | UNION ALL |CAST\(|-src '")]
    private static partial Regex Machines();
}
