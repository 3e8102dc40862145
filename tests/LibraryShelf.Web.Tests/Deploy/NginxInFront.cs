using System.Diagnostics;
using System.Globalization;
using System.Net;
using System.Net.Security;
using System.Net.Sockets;
using System.Security.Cryptography;
using System.Security.Cryptography.X509Certificates;

namespace LibraryShelf.Web.Tests.Deploy;

/// <summary>
/// Debian's nginx with deploy/nginx.conf as it is committed: only the addresses, the certificate and the log's place are this machine's.
/// </summary>
internal sealed class NginxInFront : IAsyncDisposable
{
    private const string NoSpilling = "proxy_max_temp_file_size 0;";
    private const string HandingOn = "proxy_request_buffering off;";
    private readonly string folder = Directory.CreateTempSubdirectory("shelf-nginx-").FullName;
    private readonly X509Certificate2 certificate = Certificate();
    private readonly int port = FreePort();
    private Process? nginx;

    public Uri Address => new($"https://localhost:{port}");

    /// <summary>What the committed site says of errors, and nginx's own from before it was read.</summary>
    public string ErrorLogFile => Path.Combine(folder, "site-error.log");
    public string OwnErrorLogFile => Path.Combine(folder, "http-error.log");

    public string LogFile => Path.Combine(folder, "access.log");

    /// <param name="shelf">Where the shelf listens.</param>
    /// <param name="instead">A line put in place of the one that keeps nginx from spilling answers into files.</param>
    /// <param name="uploads">A line put in place of the one that hands uploads on as they come.</param>
    public static async Task<NginxInFront> StartAsync(Uri shelf, string instead = NoSpilling, string uploads = HandingOn)
    {
        var front = new NginxInFront();
        await front.WriteAsync(shelf, instead, uploads);
        front.nginx = Process.Start(new ProcessStartInfo("nginx", ["-p", front.folder, "-c", Path.Combine(front.folder, "nginx.conf")]) { UseShellExecute = false, RedirectStandardError = true })!;
        await front.ListensAsync();
        return front;
    }

    /// <summary>A client that trusts this nginx's certificate and no other.</summary>
    /// <param name="from">Whose address it has; null: the machine's choice.</param>
    public HttpClient Client(IPAddress? from = null) => new(new SocketsHttpHandler
    {
        AllowAutoRedirect = false,
        ConnectCallback = async (context, cancellationToken) =>
        {
            var socket = new Socket(AddressFamily.InterNetwork, SocketType.Stream, ProtocolType.Tcp) { NoDelay = true };
            if (from is not null)
                socket.Bind(new IPEndPoint(from, 0));
            await socket.ConnectAsync(IPAddress.Loopback, context.DnsEndPoint.Port, cancellationToken);
            return new NetworkStream(socket, ownsSocket: true);
        },
        SslOptions = new SslClientAuthenticationOptions
        {
            RemoteCertificateValidationCallback = (_, theirs, _, _) => theirs?.GetCertHashString() == certificate.GetCertHashString(),
        },
    }) { BaseAddress = Address };

    public async ValueTask DisposeAsync()
    {
        if (nginx is { HasExited: false })
            nginx.Kill(entireProcessTree: true);
        if (nginx is not null)
            await nginx.WaitForExitAsync();
        nginx?.Dispose();
        certificate.Dispose();
        Directory.Delete(folder, recursive: true);
    }

    private async Task WriteAsync(Uri shelf, string instead, string uploads)
    {
        var site = await File.ReadAllTextAsync(Path.Combine(Repository(), "deploy", "nginx.conf"));
        foreach (var (committed, here) in new[]
        {
            ("server 127.0.0.1:5080;", $"server {shelf.Authority};"),
            (NoSpilling, instead), (HandingOn, uploads),
            ("listen 80;", $"listen 127.0.0.1:{FreePort()};"), ("listen [::]:80;", ""),
            ("listen 443 ssl http2;", $"listen 127.0.0.1:{port} ssl http2;"), ("listen [::]:443 ssl http2;", ""),
            ("/etc/letsencrypt/live/shelf.example/fullchain.pem", Path.Combine(folder, "cert.pem")),
            ("/etc/letsencrypt/live/shelf.example/privkey.pem", Path.Combine(folder, "key.pem")),
            ("/var/log/nginx/libraryshelf.log", LogFile), ("/var/log/nginx/libraryshelf-error.log", ErrorLogFile),
        })
        {
            Assert.Contains(committed, site, StringComparison.Ordinal);
            site = site.Replace(committed, here, StringComparison.Ordinal);
        }
        await File.WriteAllTextAsync(Path.Combine(folder, "cert.pem"), certificate.ExportCertificatePem());
        await File.WriteAllTextAsync(Path.Combine(folder, "key.pem"), certificate.GetRSAPrivateKey()!.ExportPkcs8PrivateKeyPem());
        await File.WriteAllTextAsync(Path.Combine(folder, "site.conf"), site);
        var temporary = string.Join('\n', new[] { "client_body", "proxy", "fastcgi", "uwsgi", "scgi" }.Select(t => $"{t}_temp_path {folder}/{t};"));
        await File.WriteAllTextAsync(Path.Combine(folder, "nginx.conf"), $$"""
            daemon off;
            error_log {{folder}}/error.log;
            pid {{folder}}/nginx.pid;
            events { }
            http { {{temporary}} error_log {{folder}}/http-error.log; include site.conf; }
            """);
        // As root it gives its workers another user, who must get at the socket files and the log.
        if (!OperatingSystem.IsWindows()) File.SetUnixFileMode(folder, UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute | UnixFileMode.OtherExecute);
    }

    private async Task ListensAsync()
    {
        using var patience = new CancellationTokenSource(TimeSpan.FromSeconds(30));
        while (true)
        {
            Assert.False(nginx!.HasExited, nginx.HasExited ? await nginx.StandardError.ReadToEndAsync() : "");
            try
            {
                using var socket = new TcpClient();
                await socket.ConnectAsync(IPAddress.Loopback, port, patience.Token);
                return;
            }
            catch (SocketException)
            {
                await Task.Delay(20, patience.Token);
            }
        }
    }

    private static X509Certificate2 Certificate()
    {
        using var key = RSA.Create(2048);
        var request = new CertificateRequest("CN=localhost", key, HashAlgorithmName.SHA256, RSASignaturePadding.Pkcs1);
        var now = TimeProvider.System.GetUtcNow();
        return request.CreateSelfSigned(now.AddDays(-1), now.AddDays(1));
    }

    internal static int FreePort()
    {
        using var listener = new TcpListener(IPAddress.Loopback, 0);
        listener.Start();
        return ((IPEndPoint)listener.LocalEndpoint).Port;
    }

    internal static string Repository()
    {
        var here = new DirectoryInfo(AppContext.BaseDirectory);
        while (here is not null && !File.Exists(Path.Combine(here.FullName, "LibraryShelf.sln")))
            here = here.Parent;
        return here?.FullName ?? throw new DirectoryNotFoundException("LibraryShelf.sln");
    }
}
