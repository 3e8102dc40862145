using LibraryShelf.Web.Pages.Shared;

namespace LibraryShelf.Web.Tests.Pages.Shared;

public sealed class NavMarkTests
{
    [Theory]
    [InlineData("/", "/", "page")]
    [InlineData("/boxes/kettle-choir", "/", null)]
    [InlineData("/sign-in", "/sign-in", "page")]
    [InlineData("/sign-in/code", "/sign-in", "true")]
    [InlineData("/sign-inner", "/sign-in", null)]
    public void A_link_knows_whether_it_is_here(string path, string own, string? mark) => Assert.Equal(mark, NavMark.Of(path, own));

    [Fact]
    public void The_workbench_itself_is_not_above_its_other_pages()
    {
        string[] sections = ["/workbench/libraries", "/workbench/releases"];
        Assert.Equal("page", NavMark.Of("/workbench", "/workbench", sections));
        Assert.Equal("true", NavMark.Of("/workbench/releases/7/sheet", "/workbench", sections));
        Assert.Null(NavMark.Of("/workbench/numbers", "/workbench", sections));
    }
}
