using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;

namespace LibraryShelf.Core.Tests.Accounts;

/// <summary>The texts a new shop begins with, in another language: files of a folder.</summary>
public sealed class StartingTextsTests : IDisposable
{
    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("starting-");

    public void Dispose() => folder.Delete(recursive: true);

    [Fact]
    public void What_the_folder_has_is_taken_and_the_rest_stays_English()
    {
        Write("terms", "\uFEFF# Velk\n\n{shop} mo {contact}.\n"u8);
        Write("licence", " \n"u8);
        Assert.Equal(StartingTexts.English with { Terms = "# Velk\n\n{shop} mo {contact}.\n" }, StartingTexts.Read(folder.FullName));
    }

    [Fact]
    public void A_language_without_a_folder_has_the_English_ones() =>
        Assert.Equal(StartingTexts.English, StartingTexts.Read(Path.Combine(folder.FullName, "none")));

    [Fact]
    public void A_file_of_another_encoding_is_refused_by_name()
    {
        Write("privacy", [.. "Zur"u8, 0xFC, .. "ck"u8]);
        Assert.Equal("privacy.md is not in UTF-8.", Assert.Throws<FormatException>(() => StartingTexts.Read(folder.FullName)).Message);
    }

    [Fact]
    public void As_long_as_a_shop_may_keep_is_taken_and_one_more_is_refused()
    {
        Write("terms", Enumerable.Repeat((byte)'a', 100_000).ToArray());
        Assert.Equal(100_000, StartingTexts.Read(folder.FullName).Terms.Length);
        Write("terms", Enumerable.Repeat((byte)'a', 100_001).ToArray());
        Assert.StartsWith("terms.md is too long", Assert.Throws<FormatException>(() => StartingTexts.Read(folder.FullName)).Message, StringComparison.Ordinal);
    }

    /// <summary>Whatever the shop is called, and as a browser sends it back; not with a word more, less or other, and not when it was never there.</summary>
    [Fact]
    public void A_text_is_untouched_until_a_word_of_it_changes()
    {
        var fresh = new ShopTexts(Filled(StartingTexts.English.Terms), Filled(StartingTexts.English.Privacy), Filled(StartingTexts.English.Licence), "", "");
        Assert.Equal(["Terms", "Privacy", "Licence"], StartingTexts.Untouched(fresh));
        Assert.Equal(["Terms", "Privacy"], StartingTexts.Untouched(fresh with { Licence = fresh.Licence + "\r\n\r\nWrite to me.", Privacy = fresh.Privacy.Replace("\n", "\r\n", StringComparison.Ordinal) }));
        Assert.Equal(["Licence"], StartingTexts.Untouched(fresh with { Terms = "# Mine\n\n" + fresh.Terms, Privacy = fresh.Privacy.Replace("## Cookies", "## Biscuits", StringComparison.Ordinal) }));
        Assert.Empty(StartingTexts.Untouched(new("", "", "What you may do.", "", "")));
        // What it comes to is said of this very text alone: a word less may allow what it forbade.
        Assert.StartsWith("You may use the recordings in your music", StartingTexts.Plain(fresh.Licence.Replace("\n", "\r\n", StringComparison.Ordinal)), StringComparison.Ordinal);
        Assert.All(["", "Mine.", fresh.Licence.Replace("You may not", "You may", StringComparison.Ordinal), fresh.Licence + "Write to me."], other => Assert.Null(StartingTexts.Plain(other)));

        static string Filled(string text) => StartingTexts.Fill(text, "Tins & {address}", "hello@tinworks.example", "1 Quay\nSaltmarsh");
    }

    private void Write(string name, ReadOnlySpan<byte> bytes) => File.WriteAllBytes(Path.Combine(folder.FullName, name + ".md"), bytes.ToArray());
}
