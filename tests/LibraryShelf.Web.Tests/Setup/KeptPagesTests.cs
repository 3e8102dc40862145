using LibraryShelf.Web.Setup;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests.Setup;

public sealed class KeptPagesTests
{
    private readonly FakeTimeProvider clock = new();
    private readonly KeptPages kept;

    public KeptPagesTests() => kept = new KeptPages(clock);

    [Fact]
    public void One_makes_a_page_and_the_others_wait_for_it_while_other_pages_wait_for_nobody()
    {
        Assert.True(kept.TryBegin("all", out _));
        Assert.False(kept.TryBegin("all", out var waiting));
        Assert.False(waiting.IsCompleted);
        Assert.True(kept.TryBegin("free", out _));
        kept.End("all", Page("1"));
        Assert.True(waiting.IsCompleted);
        Assert.NotNull(kept.Find("all", "1"));
        Assert.Null(kept.Find("all", "2"));
        Assert.Null(kept.Find("free", "1"));
    }

    [Fact]
    public void Of_a_turn_that_came_to_nothing_those_who_wait_hear_and_may_try()
    {
        Assert.True(kept.TryBegin("all", out _));
        Assert.False(kept.TryBegin("all", out var waiting));
        kept.End("all", null);
        Assert.True(waiting.IsCompleted);
        Assert.True(kept.TryBegin("all", out _));
    }

    [Fact]
    public void An_old_page_is_given_out_only_while_it_is_made_anew_and_not_when_it_is_too_old()
    {
        kept.TryBegin("all", out _);
        kept.End("all", Page("1"));
        clock.Advance(KeptPages.Fresh);
        Assert.Null(kept.Find("all", "1"));
        kept.TryBegin("free", out _);
        Assert.Null(kept.Find("all", "1"));
        kept.TryBegin("all", out _);
        Assert.NotNull(kept.Find("all", "1"));
        clock.Advance(KeptPages.Passable - KeptPages.Fresh);
        Assert.Null(kept.Find("all", "1"));
    }

    [Fact]
    public void Pages_do_not_fill_the_memory()
    {
        for (var i = 0; i < 3; i++)
        {
            kept.TryBegin($"{i}", out _);
            kept.End($"{i}", Page("1", (KeptPages.MostBytes / 2) - 1));
        }
        Assert.Null(kept.Find("0", "1"));
        Assert.NotNull(kept.Find("2", "1"));
    }

    private KeptPage Page(string stamp, int bytes = 10) => new(stamp, clock.GetUtcNow(), new byte[bytes], "\"tag\"");
}
