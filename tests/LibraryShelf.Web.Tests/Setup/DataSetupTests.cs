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
    [InlineData("Shelf:Database:Provider is “oracle”. It is one of these: sqlite, postgres.", "--Shelf:Database:Provider=oracle")]
    [InlineData("can’t be opened", "--Shelf:Database:Provider=postgres", "--Shelf:Database:Connection=Host=127.0.0.1;Port=1;Timeout=5;Password=tell-nobody-4711")]
    [InlineData("Shelf:Links:StartMinutes is 0. It is from 1 to 1440.", "--Shelf:Links:StartMinutes=0")]
    [InlineData("Shelf:Links:StartMinutes is “half an hour”. It is a whole number.", "--Shelf:Links:StartMinutes=half an hour")]
    public async Task A_start_that_can_not_be_says_why_and_ends_with_2(string words, params string[] arguments)
    {
        var folder = Directory.CreateTempSubdirectory("shelf-start-").FullName;
        var data = Path.Combine(folder, "data");
        var said = await StartAsync(folder, data, arguments);
        Assert.Contains(words, said, StringComparison.Ordinal);
        Assert.DoesNotContain("tell-nobody-4711", said, StringComparison.Ordinal);
        Assert.False(Directory.Exists(data));
        Directory.Delete(folder, recursive: true);
    }

    /// <summary>ISO 639-2 keeps qaa to qtz for local use.</summary>
    [Theory]
    [InlineData("Nem: Shelf:Links:StartMinutes mo 0, ol 1 eb 1440.", "--Shelf:Links:StartMinutes=0")]
    [InlineData("Velk shelf eb 127.0.0.1:1 nem ol: ", "--Shelf:Database:Provider=postgres", "--Shelf:Database:Connection=Host=127.0.0.1;Port=1;Database=shelf;Timeout=5")]
    public async Task It_is_said_in_the_shelfs_language(string words, params string[] arguments)
    {
        var data = Directory.CreateTempSubdirectory("shelf-start-").FullName;
        await File.WriteAllTextAsync(Path.Combine(Directory.CreateDirectory(Path.Combine(data, "languages")).FullName, "qaa.json"), """
            { "language": "qaa", "texts": {
              "{0} is {1}. It is from {2} to {3}.": "Nem: {0} mo {1}, ol {2} eb {3}.",
              "The database {0} on {1}:{2} can’t be opened: {3}. Nothing was changed. See that the server runs and that Shelf:Database:Connection is right, then start again.": "Velk {0} eb {1}:{2} nem ol: {3}." } }
            """);
        Assert.Contains(words, await StartAsync(data, data, ["--Shelf:Language=qaa", .. arguments]), StringComparison.Ordinal);
        Assert.Equal(["languages"], Directory.GetFileSystemEntries(data).Select(Path.GetFileName));
        Directory.Delete(data, recursive: true);
    }

    /// <returns>What the program said before it ended.</returns>
    private static async Task<string> StartAsync(string folder, string data, string[] arguments)
    {
        using var program = Process.Start(new ProcessStartInfo("dotnet",
            [typeof(Program).Assembly.Location, "--urls", "http://127.0.0.1:0", $"--Shelf:DataDirectory={data}", .. arguments])
        {
            RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false, WorkingDirectory = folder,
        })!;
        var (output, errors) = (program.StandardOutput.ReadToEndAsync(), program.StandardError.ReadToEndAsync());
        await program.WaitForExitAsync().WaitAsync(Patience);
        var said = await output + await errors;
        Assert.DoesNotContain("   at ", said, StringComparison.Ordinal);
        Assert.Equal(2, program.ExitCode);
        return said;
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
