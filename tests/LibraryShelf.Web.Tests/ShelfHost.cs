using System.Net;
using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using LibraryShelf.Core.Tests;
using Microsoft.AspNetCore.Authentication;
using Microsoft.AspNetCore.Authentication.Cookies;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Identity;
using Microsoft.AspNetCore.Mvc.Testing;
using Microsoft.AspNetCore.Mvc.Testing.Handlers;
using Microsoft.AspNetCore.TestHost;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Hosting;
using Microsoft.Extensions.Options;
using Microsoft.Extensions.Time.Testing;

namespace LibraryShelf.Web.Tests;

/// <summary>
/// The whole host on a data directory and a database of its own. Jobs are queued but not run unless <see cref="RunJobs"/> says
/// so: a test runs the verb it is about with <see cref="RunAsync{TVerb,T}"/>, at the moment it chooses.
/// </summary>
public sealed class ShelfHost : WebApplicationFactory<Program>
{
    public const string MakerEmail = "maker@saltmarsh.example";
    private TestDatabase? _database;

    internal Uri Address => ClientOptions.BaseAddress; // http://localhost, or where a real socket listens

    public string DataFolder { get; } = Directory.CreateTempSubdirectory("shelf-host-").FullName;

    /// <summary>Start the job server and its recurring sweep.</summary>
    public bool RunJobs { get; init; }

    /// <summary>A clock for the whole host; null: the machine's.</summary>
    public FakeTimeProvider? Clock { get; init; }

    /// <summary>A database that outlives this host; null: one of its own.</summary>
    public TestDatabase? Database { get; init; }

    /// <summary>Start on an empty folder, without a table, as a new shelf does.</summary>
    public bool FromNothing { get; init; }

    /// <summary>The settings that lead another program to this host's database; once it has started.</summary>
    public IEnumerable<(string Name, string Value)> DatabaseSettings => _database?.Settings ?? [];

    /// <summary>Settings such as ["Shelf:Links:StartMinutes"] = "5".</summary>
    public Dictionary<string, string> Settings { get; init; } = [];

    /// <summary>More services, or others in their place.</summary>
    public Action<IServiceCollection>? Replace { get; init; }

    protected override void ConfigureWebHost(IWebHostBuilder builder)
    {
        builder.UseSetting("Shelf:DataDirectory", DataFolder);
        _database = Database ?? OwnDatabase();
        foreach (var (name, value) in _database.Settings)
            builder.UseSetting(name, value);
        foreach (var (name, value) in Settings)
            builder.UseSetting(name, value);
        builder.ConfigureTestServices(services =>
        {
            if (Clock is not null)
                services.AddSingleton<TimeProvider>(Clock);
            if (!RunJobs)
                RemoveJobServer(services);
            services.AddTransient<IStartupFilter, FaultsInAnswers>();
            Replace?.Invoke(services);
        });
    }

    /// <summary>Someone signed out. Redirects are not followed; cookies are kept.</summary>
    public HttpClient Visitor() => Client(new CookieContainerHandler());

    /// <summary>The maker of a claimed shop, signed in; shop and maker are made when they are not there yet.</summary>
    public async Task<HttpClient> MakerAsync()
    {
        await ClaimAsync();
        return await SignedInAsync(MakerEmail, isMaker: true);
    }

    /// <summary>A person with this address, signed in; made when not there yet.</summary>
    public async Task<HttpClient> SignedInAsync(string email, bool isMaker = false)
    {
        var person = await PersonAsync(email, isMaker);
        var cookies = new CookieContainer();
        cookies.Add(Address, await SignInCookieAsync(person));
        return Client(new CookieContainerHandler(cookies));
    }

    /// <summary>A claimed shop: "Saltmarsh Sound Room", Europe/Lisbon. Harmless when there is one.</summary>
    public Task ClaimAsync() => WithDbAsync(async db =>
    {
        if (await db.Shops.AnyAsync())
            return;
        db.Shops.Add(new Shop
        {
            Name = "Saltmarsh Sound Room", MakerLine = "Found and mended household objects.", Contact = MakerEmail,
            TimeZone = "Europe/Lisbon", Licence = "For music, not for resale.",
        });
        await db.SaveChangesAsync();
    });

    public async Task<Person> PersonAsync(string email, bool isMaker = false, string? password = null)
    {
        await using var scope = Services.CreateAsyncScope();
        var people = scope.ServiceProvider.GetRequiredService<UserManager<Person>>();
        if (await people.FindByEmailAsync(email) is { } known)
            return known;
        var person = new Person { UserName = email, Email = email, EmailConfirmed = true, IsMaker = isMaker };
        // Who has been the maker since before last Monday is written to about her week.
        if (isMaker)
            person.CreatedAt = scope.ServiceProvider.GetRequiredService<TimeProvider>().GetUtcNow();
        var made = password is null ? await people.CreateAsync(person) : await people.CreateAsync(person, password);
        Assert.True(made.Succeeded, string.Join(' ', made.Errors.Select(e => e.Description)));
        return person;
    }

    /// <summary>Runs one verb (or any service) in a scope of its own, as a request or a job does.</summary>
    public async Task<T> RunAsync<TVerb, T>(Func<TVerb, Task<T>> run) where TVerb : notnull
    {
        await using var scope = Services.CreateAsyncScope();
        return await run(scope.ServiceProvider.GetRequiredService<TVerb>());
    }

    public async Task WithDbAsync(Func<ShelfDb, Task> use)
    {
        await using var scope = Services.CreateAsyncScope();
        await use(scope.ServiceProvider.GetRequiredService<ShelfDb>());
    }

    public Task<T> AskDbAsync<T>(Func<ShelfDb, Task<T>> ask) => RunAsync(ask);

    protected override void Dispose(bool disposing)
    {
        base.Dispose(disposing);
        if (!disposing || !Directory.Exists(DataFolder))
            return;
        if (Database is null) _database?.Dispose();
        Directory.Delete(DataFolder, recursive: true);
    }

    private TestDatabase OwnDatabase()
    {
        var own = new TestDatabase(new DataPaths(DataFolder).Database);
        return FromNothing ? own : own.WithTables();
    }

    private HttpClient Client(CookieContainerHandler cookies)
    {
        if (Address.IsDefaultPort)
            return CreateDefaultClient(Address, cookies);
        // Over a real socket the factory's own client would follow redirects.
        cookies.InnerHandler = new SocketsHttpHandler { AllowAutoRedirect = false, UseCookies = false };
        return new HttpClient(cookies) { BaseAddress = Address };
    }

    /// <summary>As the browser of somebody signed in sends it.</summary>
    internal async Task<Cookie> SignInCookieAsync(Person person)
    {
        await using var scope = Services.CreateAsyncScope();
        var services = scope.ServiceProvider;
        var options = services.GetRequiredService<IOptionsMonitor<CookieAuthenticationOptions>>().Get(IdentityConstants.ApplicationScheme);
        var principal = await services.GetRequiredService<IUserClaimsPrincipalFactory<Person>>().CreateAsync(person);
        var now = services.GetRequiredService<TimeProvider>().GetUtcNow();
        var properties = new AuthenticationProperties { IssuedUtc = now, ExpiresUtc = now + options.ExpireTimeSpan };
        var ticket = new AuthenticationTicket(principal, properties, IdentityConstants.ApplicationScheme);
        return new Cookie(options.Cookie.Name!, options.TicketDataFormat.Protect(ticket));
    }

    private static void RemoveJobServer(IServiceCollection services)
    {
        var servers = services.Where(s => s.ServiceType == typeof(IHostedService)
            && (s.ImplementationFactory?.Method.DeclaringType?.Assembly.GetName().Name ?? "").StartsWith("Hangfire", StringComparison.Ordinal)).ToList();
        Assert.NotEmpty(servers);
        servers.ForEach(s => services.Remove(s));
    }
}
