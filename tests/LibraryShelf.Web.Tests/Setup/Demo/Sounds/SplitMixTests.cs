using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Tests.Setup.Demo.Sounds;

public sealed class SplitMixTests
{
    // First outputs for seed 0, as java.util.SplittableRandom's authors' reference splitmix64.c (Vigna, 2015, public domain) gives them.
    [Fact]
    public void Gives_the_reference_numbers_for_seed_zero()
    {
        var chance = new SplitMix(0);
        Assert.Equal(0xe220a8397b1dcdafUL, chance.Next());
        Assert.Equal(0x6e789e6aa1b965f4UL, chance.Next());
        Assert.Equal(0x06c45d188009454fUL, chance.Next());
    }
}
