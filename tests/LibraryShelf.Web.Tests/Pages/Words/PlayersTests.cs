using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Tests.Pages.Words;

public sealed class PlayersTests
{
    [Fact]
    public void Every_player_is_named_with_its_lowest_version()
    {
        // The sentence is the look's own: "Pondskater 2.3 or Rushlight 5, or later".
        Assert.Equal("Pondskater 2.3 or Rushlight 5, or later", Players.Needs([("Pondskater", "2.3"), ("Rushlight", "5")]));
        Assert.Equal("Pondskater 1.8, or later", Players.Needs([("Pondskater", "1.8")]));
        Assert.Equal("A 1, B 2 or C 3", Players.Or([("A", "1"), ("B", "2"), ("C", "3")]));
    }

    [Fact]
    public void No_players_no_words() => Assert.Equal("", Players.Needs([]));

    [Fact]
    public void A_player_without_a_version_is_just_named() => Assert.Equal("Rushlight", Players.One("Rushlight", ""));
}
