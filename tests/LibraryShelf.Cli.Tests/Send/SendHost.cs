using System.Security.Cryptography;
using System.Text;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Mvc.Testing;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Cli.Tests.Send;

/// <summary>A whole shelf with its jobs, on a data directory of its own, with one library "kettle" and one upload token.</summary>
internal sealed class SendHost : WebApplicationFactory<JobChain>
{
    public const string Token = "a-token-for-tests-only";

    public string DataFolder { get; } = Directory.CreateTempSubdirectory("send-host-").FullName;

    public async Task SeedAsync()
    {
        await using var scope = Services.CreateAsyncScope();
        var db = scope.ServiceProvider.GetRequiredService<ShelfDb>();
        db.UploadTokens.Add(new UploadToken
        {
            Name = "tests", TokenHash = Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(Token))), CreatedAt = DateTimeOffset.UnixEpoch,
        });
        db.Libraries.Add(new Library { Slug = "kettle", Title = "Kettle", CreatedAt = DateTimeOffset.UnixEpoch });
        await db.SaveChangesAsync();
    }

    public async Task<T> AskDbAsync<T>(Func<ShelfDb, Task<T>> ask)
    {
        await using var scope = Services.CreateAsyncScope();
        return await ask(scope.ServiceProvider.GetRequiredService<ShelfDb>());
    }

    protected override void ConfigureWebHost(IWebHostBuilder builder) => builder.UseSetting("Shelf:DataDirectory", DataFolder);

    protected override void Dispose(bool disposing)
    {
        base.Dispose(disposing);
        if (!disposing || !Directory.Exists(DataFolder))
            return;
        SqliteConnection.ClearAllPools();
        foreach (var file in Directory.EnumerateFiles(DataFolder, "*", SearchOption.AllDirectories))
            File.SetAttributes(file, FileAttributes.Normal);
        Directory.Delete(DataFolder, recursive: true);
    }
}
