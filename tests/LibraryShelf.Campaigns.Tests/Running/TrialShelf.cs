using System.Net;
using System.Net.Sockets;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Data.Sqlite;
using Microsoft.AspNetCore.Identity;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Campaigns.Tests.Running;

/// <summary>
/// A claimed shelf in a data directory of its own, and the real program serving it, which may be killed and started again at the
/// same address.
/// </summary>
internal sealed class TrialShelf : IDisposable
{
    public const string MakerEmail = "maker@saltmarsh.example", Password = "reeds and tide 7";

    /// <summary>The accounts' tables depend on this option, as the host sets it.</summary>
    private static readonly IServiceProvider Accounts = new ServiceCollection()
        .Configure<IdentityOptions>(o => o.Stores.SchemaVersion = IdentitySchemaVersions.Version3).BuildServiceProvider();

    private readonly DirectoryInfo scratch = Directory.CreateTempSubdirectory("shelf-campaign-");
    private readonly List<OutsideProcess> programs = [];
    private OutsideProcess? program;

    private TrialShelf(string? dataDirectory)
    {
        Paths = new DataPaths(dataDirectory ?? Path.Combine(scratch.FullName, "data"));
        (Browser, Visitor) = (Client(), Client());
    }

    public DataPaths Paths { get; }

    /// <summary>For folders that are sent, copies of the database, and what else a test needs.</summary>
    public string Scratch => scratch.FullName;

    public Uri Address { get; } = new($"http://127.0.0.1:{FreePort()}");

    /// <summary>With the maker's cookie once she has signed in; it does not follow redirects.</summary>
    public HttpClient Browser { get; }

    /// <summary>Somebody who has not signed in.</summary>
    public HttpClient Visitor { get; }

    public string Token { get; private set; } = "";

    /// <summary>Settings the program is started with, such as "--Shelf:Payments:Practice=true".</summary>
    public string[] Arguments { get; init; } = [];

    public bool IsUp => program is { HasEnded: false };

    /// <summary>The end of what the program said, of this start and the last.</summary>
    public string LastWords => string.Join("\n--- started again ---\n", programs.TakeLast(2).Select(p => Tail(p.Said + p.Complained)));

    /// <summary>Whether the program has said so since its last start.</summary>
    public bool HasSaid(string words) => program is not null && (program.Said + program.Complained).Contains(words, StringComparison.Ordinal);

    public static async Task<TrialShelf> ClaimedAsync(string? dataDirectory = null, params string[] arguments)
    {
        var shelf = new TrialShelf(dataDirectory) { Arguments = arguments };
        foreach (var path in new[] { shelf.Paths.Blobs, shelf.Paths.Uploads, shelf.Paths.Outbox })
            Directory.CreateDirectory(path);
        var options = new DbContextOptionsBuilder<ShelfDb>();
        SqliteSetup.Use(options, shelf.Paths.Database);
        options.UseApplicationServiceProvider(Accounts);
        await using (var db = new ShelfDb(options.Options))
            await SqliteSetup.BringUpToDateAsync(db, CancellationToken.None);
        SqliteConnection.ClearAllPools();
        await shelf.ClaimAsync();
        return shelf;
    }

    /// <summary>Its own connection, closed for good afterwards: after a kill nobody else's hand may be on the database.</summary>
    public ShelfDb Open() => Open(Paths.Database);

    public static ShelfDb Open(string file) => new(new DbContextOptionsBuilder<ShelfDb>()
        .UseSqlite(new SqliteConnectionStringBuilder { DataSource = file, ForeignKeys = true, DefaultTimeout = 30, Pooling = false }.ToString(),
            o => o.UseQuerySplittingBehavior(QuerySplittingBehavior.SingleQuery))
        .UseApplicationServiceProvider(Accounts).Options);

    /// <summary>Starts the program and waits until it answers.</summary>
    public async Task StartAsync()
    {
        var started = Launch();
        await Waiting.UntilAsync("the program answers", async () =>
            started.HasEnded ? throw new InvalidOperationException("The program ended at its start:\n" + LastWords) : await IsReadyAsync());
    }

    /// <summary>Starts the program, which must end by itself; its exit code.</summary>
    public Task<int> StartInVainAsync() => Launch().EndAsync(TimeSpan.FromMinutes(1));

    private OutsideProcess Launch()
    {
        program?.Dispose();
        program = OutsideProcess.Start(
            ["dotnet", typeof(Program).Assembly.Location, "--urls", Address.ToString(), $"--Shelf:DataDirectory={Paths.Root}", .. Arguments],
            Repository.File("src/LibraryShelf.Web"), ("ASPNETCORE_ENVIRONMENT", "Production"));
        programs.Add(program);
        return program;
    }

    public void Kill() => program?.Kill();

    public async Task<bool> IsReadyAsync()
    {
        try
        {
            using var answer = await Browser.GetAsync(new Uri("/health/ready", UriKind.Relative));
            return answer.IsSuccessStatusCode;
        }
        catch (HttpRequestException)
        {
            return false;
        }
    }

    /// <summary>`shelf send` of this folder into the library's open draft, with `--json`.</summary>
    public OutsideProcess Send(string folder, string slug) => OutsideProcess.Start(
        ["dotnet", Path.Combine(AppContext.BaseDirectory, "shelf.dll"), "send", folder, "--to", Address.ToString(), "--library", slug, "--json"],
        Scratch, ("SHELF_TOKEN", Token), ("XDG_CACHE_HOME", Path.Combine(Scratch, "cache")));

    public void Dispose()
    {
        foreach (var one in programs)
            one.Dispose();
        Browser.Dispose();
        Visitor.Dispose();
        scratch.Delete(recursive: true);
    }

    /// <summary>Somebody else who has not signed in, with cookies of their own.</summary>
    public HttpClient NewBrowser() => Client();

    private HttpClient Client() => new(new SocketsHttpHandler { AllowAutoRedirect = false, CookieContainer = new CookieContainer() })
    {
        BaseAddress = Address, Timeout = TimeSpan.FromMinutes(3),
    };

    private async Task ClaimAsync()
    {
        await using var db = Open();
        db.Shops.Add(new Shop { Name = "Saltmarsh Sound Room", Contact = MakerEmail, Licence = "For music, not for resale." });
        var maker = new Person
        {
            UserName = MakerEmail, NormalizedUserName = MakerEmail.ToUpperInvariant(), Email = MakerEmail, NormalizedEmail = MakerEmail.ToUpperInvariant(),
            EmailConfirmed = true, IsMaker = true, SecurityStamp = "campaign", CreatedAt = TimeProvider.System.GetUtcNow(),
        };
        maker.PasswordHash = new PasswordHasher<Person>().HashPassword(maker, Password);
        db.Users.Add(maker);
        await db.SaveChangesAsync();
        Token = await new MakeUploadToken(db, TimeProvider.System).RunAsync("campaign", CancellationToken.None);
    }

    private static string Tail(string text) => text.Length <= 4000 ? text : "…" + text[^4000..];

    private static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }
}
