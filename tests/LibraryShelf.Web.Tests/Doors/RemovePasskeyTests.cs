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

    private sealed class Broken : IUserValidator<Person>
    {
        public int After { get; set; } = int.MaxValue;

        public Task<IdentityResult> ValidateAsync(UserManager<Person> manager, Person user) =>
            After-- > 0 ? Task.FromResult(IdentityResult.Success) : throw new InvalidOperationException("killed");
    }
}
