using System.Net;

namespace LibraryShelf.Web.Tests;

public sealed class ShelfHostTests
{
    [Fact]
    public async Task The_host_starts_on_an_empty_folder_and_says_it_is_ready()
    {
        await using var host = new ShelfHost { FromNothing = true };
        using var answer = await host.Visitor().GetAsync(new Uri("/health/ready", UriKind.Relative));
        Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
    }

    [Fact]
    public async Task The_workbench_is_the_makers_alone()
    {
        await using var host = new ShelfHost();
        await host.ClaimAsync();
        Assert.Equal(HttpStatusCode.OK, await StatusAsync(await host.MakerAsync()));
        Assert.NotEqual(HttpStatusCode.OK, await StatusAsync(host.Visitor()));
        Assert.NotEqual(HttpStatusCode.OK, await StatusAsync(await host.SignedInAsync("member@example.org")));

        static async Task<HttpStatusCode> StatusAsync(HttpClient client)
        {
            using var answer = await client.GetAsync(new Uri("/workbench", UriKind.Relative));
            return answer.StatusCode;
        }
    }
}
