using System.Buffers.Text;
using LibraryShelf.Core.Accounts;
using Microsoft.AspNetCore.Identity;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Doors;

public sealed class RemovePasskeyTests
{
    [Fact]
    public async Task Removed_and_signed_out_elsewhere_or_neither()
    {
        var broken = new Broken();
        await using var host = new ShelfHost { Replace = services => services.AddSingleton<IUserValidator<Person>>(broken) };
        var person = await host.PersonAsync("maker@tinworks.example", isMaker: true);
        var id = new byte[] { 1, 2, 3, 4 };
        await host.RunAsync(async (UserManager<Person> people) => await people.AddOrUpdatePasskeyAsync(
            (await people.FindByIdAsync($"{person.Id}"))!, new UserPasskeyInfo(id, [5], DateTimeOffset.UnixEpoch, 0, null, true, false, false, [6], [7])));
        var stamp = await StampAsync();

        // Validated once for the passkey, once for the stamp: as a kill between the two would.
        broken.After = 1;
        await Assert.ThrowsAsync<InvalidOperationException>(RemoveAsync);
        Assert.Equal((1, stamp), (await host.AskDbAsync(db => db.UserPasskeys.CountAsync()), await StampAsync()));
        broken.After = int.MaxValue;
        Assert.NotNull(await RemoveAsync());
        Assert.Equal(0, await host.AskDbAsync(db => db.UserPasskeys.CountAsync()));
        Assert.NotEqual(stamp, await StampAsync());

        Task<Person?> RemoveAsync() => host.RunAsync((RemovePasskey remove) => remove.RunAsync(person.Id, Base64Url.EncodeToString(id), default));
        Task<string?> StampAsync() => host.AskDbAsync(db => db.Users.Select(p => p.SecurityStamp).SingleAsync());
    }

    [Theory]
    [InlineData(false, 0, 1)]
    [InlineData(true, 1, 0)]
    public async Task Whoever_recovers_the_maker_at_the_server_takes_her_passkeys_away_only_when_asked_to(bool asks, int removed, int left)
    {
        await using var host = new ShelfHost();
        foreach (var (email, isMaker) in new[] { (ShelfHost.MakerEmail, true), ("wren@post.example", false) })
        {
            var person = await host.PersonAsync(email, isMaker);
            await host.RunAsync(async (UserManager<Person> people) => await people.AddOrUpdatePasskeyAsync(
                (await people.FindByIdAsync($"{person.Id}"))!, new UserPasskeyInfo([(byte)person.Id], [5], DateTimeOffset.UnixEpoch, 0, null, true, false, false, [6], [7])));
        }
        var offered = Assert.IsType<OfferRecoveryOutcome.Offered>(await host.RunAsync((OfferRecovery offer) => offer.RunAsync(ShelfHost.MakerEmail, asks, default)));
        Assert.Equal(removed, offered.PasskeysRemoved);
        Assert.Equal(left, await host.AskDbAsync(db => db.UserPasskeys.CountAsync(k => db.Users.Any(p => p.Id == k.UserId && p.IsMaker))));
        // Another person's is nobody's business here.
        Assert.Equal(1, await host.AskDbAsync(db => db.UserPasskeys.CountAsync(k => db.Users.Any(p => p.Id == k.UserId && !p.IsMaker))));
    }

    private sealed class Broken : IUserValidator<Person>
    {
        public int After { get; set; } = int.MaxValue;

        public Task<IdentityResult> ValidateAsync(UserManager<Person> manager, Person user) =>
            After-- > 0 ? Task.FromResult(IdentityResult.Success) : throw new InvalidOperationException("killed");
    }
}
