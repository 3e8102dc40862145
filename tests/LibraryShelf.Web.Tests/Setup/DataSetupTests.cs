using System.Diagnostics;
using System.Net;
using LibraryShelf.Core.Tests;
using Microsoft.Extensions.Configuration;
using Microsoft.Extensions.DependencyInjection;
using Npgsql;

namespace LibraryShelf.Web.Tests.Setup;

/// <summary>The choice of the database, as whoever starts the program meets it.</summary>
public sealed class DataSetupTests
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    [Theory]
    [InlineData("Shelf:Database:Connection has to say where", "--Shelf:Database:Provider=postgres")]
    [InlineData("Shelf:Database:Provider is sqlite or postgres", "--Shelf:Database:Provider=oracle")]
    [InlineData("can't be opened", "--Shelf:Database:Provider=postgres", "--Shelf:Database:Connection=Host=127.0.0.1;Port=1;Timeout=5;Password=tell-nobody-4711")]
    [InlineData("StartMinutes must be between 1 and 1440", "--Shelf:Links:StartMinutes=0")]
    public async Task A_start_that_can_not_be_says_why_and_ends_with_2(string words, params string[] arguments)
    {
        var folder = Directory.CreateTempSubdirectory("shelf-start-").FullName;
        var data = Path.Combine(folder, "data");
        using var program = Process.Start(new ProcessStartInfo("dotnet",
            [typeof(Program).Assembly.Location, "--urls", "http://127.0.0.1:0", $"--Shelf:DataDirectory={data}", .. arguments])
        {
            RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false, WorkingDirectory = folder,
        })!;
        var (output, errors) = (program.StandardOutput.ReadToEndAsync(), program.StandardError.ReadToEndAsync());
        await program.WaitForExitAsync().WaitAsync(Patience);
        var said = await output + await errors;
        Assert.Contains(words, said, StringComparison.Ordinal);
        Assert.DoesNotContain("tell-nobody-4711", said, StringComparison.Ordinal);
        Assert.DoesNotContain("   at ", said, StringComparison.Ordinal);
        Assert.Equal(2, program.ExitCode);
        Assert.False(Directory.Exists(data));
        Directory.Delete(folder, recursive: true);
    }

    [Fact, Trait("Database", "postgres")]
    public async Task A_server_that_goes_away_is_said_and_comes_back_by_itself()
    {
        await using var host = new ShelfHost();
        using var client = host.Visitor();
        Assert.Equal(HttpStatusCode.OK, await ReadyAsync(client));
        var name = new NpgsqlConnectionStringBuilder(host.Services.GetRequiredService<IConfiguration>()["Shelf:Database:Connection"]).Database;
        TestServer.Say($"ALTER DATABASE \"{name}\" ALLOW_CONNECTIONS false");
        // More than one kind of failure: the pooled connection that was cut, then a new one that is refused.
        for (var i = 0; i < 3; i++)
        {
            TestServer.Say($"SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = '{name}'");
            Assert.Equal(HttpStatusCode.ServiceUnavailable, await ReadyAsync(client));
        }
        TestServer.Say($"ALTER DATABASE \"{name}\" ALLOW_CONNECTIONS true");
        Assert.Equal(HttpStatusCode.OK, await ReadyAsync(client));
    }

    private static async Task<HttpStatusCode> ReadyAsync(HttpClient client)
    {
        using var answer = await client.GetAsync(new Uri("/health/ready", UriKind.Relative));
        return answer.StatusCode;
    }
}
