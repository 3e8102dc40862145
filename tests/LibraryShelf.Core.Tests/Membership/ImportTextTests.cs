using System.Text;
using LibraryShelf.Core.Membership;
using NodaTime;

namespace LibraryShelf.Core.Tests.Membership;

public sealed class ImportTextTests
{
    private static ImportText Read(string text) => ImportText.Read(Encoding.UTF8.GetBytes(text));

    [Theory]
    [InlineData("email,member_from,member_until,note\nwren@post.example,2026-03-01,2026-05-31,tins\n")]
    [InlineData("EMAIL;Member-From;member until;Note\r\nwren@post.example;2026-03-01;2026-05-31;tins")]
    [InlineData("note\tmember_until\tsomething else\te-mail\tmember_from\n\"tins\"\t2026-05-31\t9\t wren@post.example \t2026-03-01\n")]
    [InlineData("\uFEFFemail,member_from,member_until,note\nwren@post.example,2026-03-01T09:30:00Z,2026-05-31 23:59,tins\n")]
    [InlineData("\n;;;\n\"email\";\"member_from\";\"member_until\";\"note\"\n\"wren@post.example\";\"2026-03-01\";\"2026-05-31\";\"tins\"\n\n;;;\n")]
    public void Columns_are_found_by_name_however_a_program_wrote_them(string text)
    {
        var line = Assert.Single(Read(text).Lines);
        Assert.Equal(
            ("wren@post.example", new LocalDate(2026, 3, 1), new LocalDate(2026, 5, 31), "tins", null),
            (line.Email, line.From, line.Until, line.Note, line.Fault));
    }

    [Fact]
    public void A_note_too_long_is_not_cut_through_a_pair()
    {
        // 500 is what a note may have; U+1F39B is a pair in UTF-16.
        var note = Assert.Single(Read($"email,note\nwren@post.example,{new string('n', 499)}\U0001F39B").Lines).Note;
        Assert.Equal(new string('n', 499), note);
    }

    [Fact]
    public void Lines_are_numbered_as_in_the_file()
    {
        var lines = Read("email,note\na@post.example,\"two\nlines, \"\"quoted\"\"\"\n\nb@post.example,\n").Lines;
        Assert.Equal([2, 5], lines.Select(l => l.Number));
        Assert.Equal("two\nlines, \"quoted\"", lines[0].Note);
    }

    [Theory]
    [InlineData("wren", ImportFault.NoAddress)]
    [InlineData(",,,y", ImportFault.NoAddress)]
    [InlineData("wren@post.example,01.03.2026", ImportFault.FromIsNoDay)]
    [InlineData("wren@post.example,2026-02-30", ImportFault.FromIsNoDay)]
    [InlineData("wren@post.example,,31/05/2026", ImportFault.UntilIsNoDay)]
    [InlineData("wren@post.example,2026-03-02,2026-03-01", ImportFault.EndsBeforeItStarts)]
    [InlineData("First@Post.Example", ImportFault.TwiceInList)]
    public void A_line_with_a_fault_says_which(string text, ImportFault fault)
    {
        var line = Read($"email,member_from,member_until,x\nfirst@post.example,,,\n{text}\n").Lines[1];
        Assert.Equal((fault, 3), (line.Fault, line.Number));
        Assert.Equal(fault == ImportFault.TwiceInList ? 2 : null, line.TwinOf);
    }

    [Theory]
    [InlineData("", ImportTrouble.Empty)]
    [InlineData(" \n\n", ImportTrouble.Empty)]
    [InlineData("email,note\n", ImportTrouble.Empty)]
    [InlineData("name,address\nWren,wren@post.example\n", ImportTrouble.NoEmailColumn)]
    [InlineData("email,note\nwren@post.example,\"not closed\nanother@post.example,x\n", ImportTrouble.BrokenQuotes)]
    [InlineData("email,note\nwren@post.example,a \"b\" c\n", ImportTrouble.BrokenQuotes)]
    public void What_is_no_list_says_why(string text, ImportTrouble trouble) => Assert.Equal(trouble, Read(text).Trouble);

    [Fact]
    public void Other_encodings_and_too_much_are_refused()
    {
        Assert.Equal(ImportTrouble.NotUtf8, ImportText.Read(Encoding.Latin1.GetBytes("email,note\nwren@post.example,März\n")).Trouble);
        Assert.Equal(ImportTrouble.NotUtf8, ImportText.Read(Encoding.Unicode.GetBytes("email\nwren@post.example\n")).Trouble);
        Assert.Equal(ImportTrouble.TooBig, ImportText.Read(new byte[ImportText.MostBytes + 1]).Trouble);
        var most = string.Concat(Enumerable.Range(0, ImportText.MostLines).Select(n => $"p{n}@post.example\n"));
        Assert.Equal(ImportText.MostLines, Read("email\n" + most).Lines.Count);
        Assert.Equal(ImportTrouble.TooManyLines, Read("email\n" + most + "one@more.example\n").Trouble);
    }

    /// <summary>What begins like a formula is marked as text in files for spreadsheets, ours too.</summary>
    [Fact]
    public void The_mark_of_spreadsheets_is_taken_off()
    {
        var line = Assert.Single(Read("email,note\n'+wren@post.example,'=tins\n").Lines);
        Assert.Equal(("+wren@post.example", "=tins"), (line.Email, line.Note));
        Assert.Equal("'wren@post.example", Assert.Single(Read("email\n'wren@post.example\n").Lines).Email);
    }
}
