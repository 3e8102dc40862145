using OpenTelemetry.Metrics;
using OpenTelemetry.Resources;

namespace LibraryShelf.Web.Setup.Metering;

/// <summary>Measures for whoever runs the server. They leave it only to where the environment says: without OTEL_EXPORTER_OTLP_ENDPOINT nothing is gathered and nothing is sent.</summary>
internal static class MeterSetup
{
    /// <summary>Of OpenTelemetry's specification, "OTLP exporter configuration"; the exporter reads this and its kin itself.</summary>
    public const string Endpoint = "OTEL_EXPORTER_OTLP_ENDPOINT";

    /// <summary>The shelf's, ASP.NET Core's and .NET's own.</summary>
    private static readonly string[] Meters =
        [ShelfMeter.Name, "Microsoft.AspNetCore.Hosting", "Microsoft.AspNetCore.Server.Kestrel", "Microsoft.AspNetCore.RateLimiting", "System.Runtime"];

    public static void AddShelfMeters(this WebApplicationBuilder builder)
    {
        builder.Services.AddMetrics();
        builder.Services.AddSingleton<ShelfMeter>();
        if (string.IsNullOrWhiteSpace(builder.Configuration[Endpoint]))
            return;
        builder.Services.AddOpenTelemetry()
            // What is said here would go before what the environment says.
            .ConfigureResource(r => _ = string.IsNullOrWhiteSpace(builder.Configuration["OTEL_SERVICE_NAME"]) ? r.AddService("libraryshelf") : r)
            .WithMetrics(m => m.AddMeter(Meters).AddOtlpExporter());
    }
}
