using System.Diagnostics;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using System.Text.Json.Nodes;
using LibraryShelf.Cli.Verify;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Tests.Verify;

/// <summary>`shelf verify --against` and the page "Which version do I have?" answer alike: one table of cases, run through both.</summary>
public sealed class WhichVersionCasesTests
{
    private static readonly string Root = FindRoot();

    private static string CasesPath => Path.Combine(Root, "tests", "which-version-cases.json");

    private static JsonNode Cases => JsonNode.Parse(File.ReadAllText(CasesPath))!;

    private static VersionsAnswer Table => Cases["table"]!.Deserialize(VersionsJson.Default.VersionsAnswer)!;

    [Fact]
    public void The_command_line_answers_every_case_as_worked_out_by_hand()
    {
        Assert.True(Table.IsSound);
        AssertAll("folders", one => Told(VersionMatch.Find(Table, Found(one))));
        AssertAll("updates", one => Told(UpdateMatch.Hold(Table, new UpdateBetween((string)one["note"]!["from"]!, (string)one["note"]!["to"]!), Found(one))));
        AssertAll("notes", one => UpdateBetween.Read((string)one["line"]!) is { } read ? new JsonObject { ["from"] = read.From, ["to"] = read.To } : null);
    }

    [Fact]
    public void The_page_answers_every_case_as_worked_out_by_hand()
    {
        var answers = JsonNode.Parse(Node(CasesPath, ""))!;
        foreach (var group in (string[])["folders", "updates", "notes"])
        {
            var at = 0;
            AssertAll(group, _ => answers[group]![at++]?.DeepClone());
            Assert.Equal(at, answers[group]!.AsArray().Count);
        }
    }

    /// <summary>NIST, "Cryptographic Standards and Guidelines: Example Values", SHA-256: one block, two blocks, and FIPS 180-2 appendix B.3, a million "a".</summary>
    [Fact]
    public void The_pages_own_hashing_in_slices_gives_the_published_values_and_the_platforms()
    {
        var lines = new List<(string In, string Out)>
        {
            ("1 " + Hex("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"),
            ("7 " + Hex("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq"), "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1"),
            ("4096 " + Hex("a") + " 1000000", "cdc76e5c9914fb9281a1c7e284d73e67f1809a48a497200e046d39ccc7112cd0"),
            ("64 -", "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"),
        };
        var random = new Random(180_4);
        for (var size = 1; size < 200; size++)
        {
            var bytes = new byte[size];
            random.NextBytes(bytes);
            lines.Add(($"{random.Next(1, 130)} {Convert.ToHexStringLower(bytes)}", Convert.ToHexStringLower(SHA256.HashData(bytes))));
        }
        Assert.Equal(lines.Select(l => l.Out), Node("--sha256", string.Join('\n', lines.Select(l => l.In))).Split('\n', StringSplitOptions.RemoveEmptyEntries));
    }

    private static string Hex(string text) => Convert.ToHexStringLower(Encoding.ASCII.GetBytes(text));

    private static void AssertAll(string group, Func<JsonNode, JsonNode?> answer)
    {
        foreach (var one in Cases[group]!.AsArray())
        {
            // Names may come in either way of writing them; what they look like is the same.
            var (wanted, got) = (Plain(one!["is"]), Plain(answer(one)));
            Assert.True(wanted == got, $"{one["name"] ?? one["line"]}: wanted {wanted}, got {got}");
        }
    }

    private static string Plain(JsonNode? node) => (node?.ToJsonString(new JsonSerializerOptions { Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping }) ?? "null")
        .Normalize(NormalizationForm.FormC);

    private static Dictionary<string, string> Found(JsonNode one) => one["found"]!.AsObject().ToDictionary(f => f.Key, f => (string)f.Value!);

    private static JsonObject? Told(NearestVersion? found)
    {
        if (found is null)
            return null;
        var readable = Table.Versions.Where(v => v.Runs is not null).ToList();
        var latest = readable.Find(v => v.WithdrawnAt is null) ?? readable[0];
        return new JsonObject
        {
            ["version"] = found.Version.Number, ["altered"] = List(found.Altered), ["missing"] = List(found.Missing),
            ["renamed"] = new JsonArray([.. found.Renamed.Select(r => new JsonArray(r.Path, r.As))]),
            ["leftOver"] = List(found.LeftOver), ["own"] = List(found.Own), ["latest"] = latest.Number, ["cost"] = VersionMatch.Cost(Table, found.Version, latest),
        };
    }

    private static JsonObject Told(HeldUpdate held) => new()
    {
        ["isKnown"] = held.IsKnown, ["isExact"] = held.IsExact, ["altered"] = List(held.Altered), ["missing"] = List(held.Missing),
    };

    private static JsonArray List(IEnumerable<string> paths) => new([.. paths.Select(p => (JsonNode)p)]);

    private static string Node(string what, string input)
    {
        string[] arguments = [Path.Combine(Root, "tests", "peers", "which-version.mjs"), Path.Combine(Root, "src", "LibraryShelf.Web", "wwwroot", "js"), what];
        using var process = Process.Start(new ProcessStartInfo("node", arguments)
        {
            UseShellExecute = false, RedirectStandardInput = true, RedirectStandardOutput = true, RedirectStandardError = true,
        })!;
        process.StandardInput.Write(input);
        process.StandardInput.Close();
        var error = process.StandardError.ReadToEndAsync();
        var output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0, error.Result);
        return output;
    }

    private static string FindRoot()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(folder!.FullName, "LibraryShelf.sln")))
            folder = folder.Parent;
        return folder.FullName;
    }
}
