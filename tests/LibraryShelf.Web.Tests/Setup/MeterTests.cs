using System.Collections.Concurrent;
using System.Diagnostics.Metrics;
using System.Globalization;
using System.Net;
using System.Text;
using Hangfire;
using Hangfire.States;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Jobs;
using LibraryShelf.Web.Setup.Metering;
using LibraryShelf.Web.Tests.Endpoints;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using OpenTelemetry.Metrics;

namespace LibraryShelf.Web.Tests.Setup;

/// <summary>The instruments of all hosts in this process have the same names and are one to who gathers them: one that ends meanwhile would take the others' measures with it.</summary>
[CollectionDefinition(Name, DisableParallelization = true)]
public sealed class NoOtherHosts
{
    public const string Name = "No other hosts";
}

[Collection(NoOtherHosts.Name)]
public sealed class MeterTests
{
    private const string Email = "sedge@post.example";

    /// <summary>What a tag of the shelf's own may say, whatever is downloaded, mailed or done.</summary>
    private static readonly Dictionary<string, string[]> Words = new(StringComparer.Ordinal)
    {
        ["http.response.status_code"] = ["200", "206", "304", "403", "404", "410", "412", "416", "429", "503"],
        ["libraryshelf.mail.outcome"] = ["sent", "put_off", "given_up", "left_out"],
        ["libraryshelf.job.name"] = [.. JobList.All(new ShelfSettings()).Select(j => j.Name)],
    };

    [Fact]
    public async Task A_download_a_mail_and_a_job_are_measured_and_no_tag_names_anything_of_theirs()
    {
        await using var stocked = await StockedHost.MakeAsync(200_000);
        var seen = new ConcurrentBag<(string Instrument, double Value, KeyValuePair<string, object?>[] Tags)>();
        using var listener = ListenTo(stocked.Host.Services.GetRequiredService<IMeterFactory>(), seen);

        var link = await stocked.LinkAsync();
        using (var answer = await stocked.GetAsync(link.Path))
            Assert.Equal(stocked.Whole.Length, (await answer.Content.ReadAsByteArrayAsync()).Length);
        using (var refused = await stocked.GetAsync(link.Path + "x"))
            Assert.False(refused.IsSuccessStatusCode);
        await stocked.Host.WithDbAsync(async db =>
        {
            db.Outbox.Add(new OutboxMail { Cause = "left:1", To = Email, Subject = "Tin Roof", Text = "Tin Roof is yours.", CreatedAt = stocked.Clock.GetUtcNow() });
            await db.SaveChangesAsync();
        });
        await stocked.Host.RunAsync(async (IServiceProvider services) =>
        {
            await ActivatorUtilities.CreateInstance<MailJob>(services).RunAsync(default);
            return true;
        });
        stocked.Host.Services.GetRequiredService<ShelfMeter>().Ran(typeof(CheckJob), TimeSpan.FromSeconds(3), isFailed: true);
        listener.RecordObservableInstruments();

        Assert.Equal(stocked.Whole.Length, Of("libraryshelf.download.io").Sum(s => s.Value));
        Assert.Equal(["200", "403"], Of("libraryshelf.download.requests").Select(s => Word(s.Tags.Single().Value)).Order(StringComparer.Ordinal));
        Assert.Equal("sent", Word(Assert.Single(Of("libraryshelf.mail.outcomes")).Tags.Single().Value));
        Assert.Equal((3.0, "CheckJob"), (Assert.Single(Of("libraryshelf.job.duration")).Value, Word(Of("libraryshelf.job.failures").Single().Tags.Single().Value)));
        Assert.NotEmpty(Of("libraryshelf.download.answers"));
        Assert.NotEmpty(Of("libraryshelf.download.events.waiting"));
        Assert.NotEmpty(Of("http.server.request.duration"));
        foreach (var (instrument, _, tags) in seen)
        {
            foreach (var (key, value) in tags)
            {
                if (instrument.StartsWith("libraryshelf.", StringComparison.Ordinal))
                    Assert.Contains(Word(value), Words[key]);
                foreach (var secret in new[] { link.DownloadId, link.Path, Email, "Tin Roof", StockedHost.FileName })
                    Assert.DoesNotContain(secret, Word(value), StringComparison.OrdinalIgnoreCase);
            }
        }

        IEnumerable<(string Instrument, double Value, KeyValuePair<string, object?>[] Tags)> Of(string name) => seen.Where(s => s.Instrument == name);
    }

    [Fact]
    public async Task Runs_of_jobs_in_the_queue_are_measured()
    {
        await using var host = new ShelfHost { RunJobs = true };
        _ = host.Server;
        var seen = new ConcurrentBag<(string Instrument, double Value, KeyValuePair<string, object?>[] Tags)>();
        using var listener = ListenTo(host.Services.GetRequiredService<IMeterFactory>(), seen);
        var until = TimeProvider.System.GetTimestamp();
        while (!seen.Any(s => s.Instrument == "libraryshelf.job.duration" && s.Tags.Any(t => Equals(t.Value, nameof(CountJob)))))
        {
            Assert.True(TimeProvider.System.GetElapsedTime(until) < TimeSpan.FromMinutes(2), "No run was measured.");
            host.Services.GetRequiredService<IBackgroundJobClient>().Create<CountJob>(j => j.RunAsync(default), new EnqueuedState(JobQueues.Now));
            await Task.Delay(50);
        }
    }

    [Fact]
    public async Task Measures_go_to_where_the_environment_says()
    {
        var came = new ConcurrentQueue<(string Path, string? Type, string Body)>();
        await using var collector = Collector(async request =>
        {
            using var body = new MemoryStream();
            await request.Body.CopyToAsync(body);
            // Texts stand in protobuf as they are; each byte as one letter, so that none is lost.
            came.Enqueue((request.Path, request.ContentType, Encoding.Latin1.GetString(body.ToArray())));
        });
        await collector.StartAsync();
        await using var stocked = await StockedHost.MakeAsync(
            new Dictionary<string, string> { [MeterSetup.Endpoint] = collector.Urls.Single(), ["OTEL_EXPORTER_OTLP_PROTOCOL"] = "http/protobuf", ["OTEL_METRIC_EXPORT_INTERVAL"] = "100" }, 5_000);
        var (person, link) = (await stocked.Host.PersonAsync(Email), await stocked.LinkAsync());
        using (var answer = await stocked.GetAsync(link.Path, ("Referer", "https://reeds.example/secret"), ("User-Agent", "Wrenfetch/4.711")))
            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        using (var client = await stocked.Host.SignedInAsync(Email))
            await client.PageAsync("/mine?find=sedgewarbler");
        using (var refused = await stocked.GetAsync("/boxes/no-such-box-4711"))
            Assert.Equal(HttpStatusCode.NotFound, refused.StatusCode);
        // Until both have been told of.
        var until = TimeProvider.System.GetTimestamp();
        while (!came.Any(c => c.Body.Contains("libraryshelf.download.io", StringComparison.Ordinal)) || !came.Any(c => c.Body.Contains("http.route", StringComparison.Ordinal)))
        {
            Assert.True(TimeProvider.System.GetElapsedTime(until) < TimeSpan.FromMinutes(2), "No measures came.");
            await Task.Delay(20);
        }
        Assert.All(came, c => Assert.Equal(("/v1/metrics", "application/x-protobuf"), (c.Path, c.Type)));
        // Who, what and where of: names, addresses, numbers that open something, and what was typed.
        string[] secrets = [Email, "sedge", link.DownloadId, link.Path.Split('?')[1], "fluegel", "Tin 1.0.0", "reeds.example", "sedgewarbler", "no-such-box-4711", "Wrenfetch", person.SecurityStamp!, stocked.RecipeSha256];
        foreach (var secret in secrets)
            Assert.DoesNotContain(came, c => c.Body.Contains(secret, StringComparison.OrdinalIgnoreCase));
    }

    [Fact]
    public async Task Without_it_nothing_is_gathered_and_nothing_leaves()
    {
        await using var host = new ShelfHost { Settings = { ["OTEL_EXPORTER_OTLP_PROTOCOL"] = "http/protobuf", ["OTEL_METRIC_EXPORT_INTERVAL"] = "100" } };
        using (var answer = await host.Visitor().GetAsync(new Uri("/health/ready", UriKind.Relative)))
            Assert.Equal(HttpStatusCode.OK, answer.StatusCode);
        Assert.Null(host.Services.GetService<MeterProvider>());
    }

    private static string Word(object? value) => Convert.ToString(value, CultureInfo.InvariantCulture) ?? "";

    /// <summary>Every instrument of this host, and of none of the others in this process.</summary>
    private static MeterListener ListenTo(IMeterFactory meters, ConcurrentBag<(string Instrument, double Value, KeyValuePair<string, object?>[] Tags)> seen)
    {
        var listener = new MeterListener
        {
            InstrumentPublished = (instrument, listener) =>
            {
                if (ReferenceEquals(instrument.Meter.Scope, meters))
                    listener.EnableMeasurementEvents(instrument);
            },
        };
        listener.SetMeasurementEventCallback<long>((instrument, value, tags, _) => seen.Add((instrument.Name, value, tags.ToArray())));
        listener.SetMeasurementEventCallback<int>((instrument, value, tags, _) => seen.Add((instrument.Name, value, tags.ToArray())));
        listener.SetMeasurementEventCallback<double>((instrument, value, tags, _) => seen.Add((instrument.Name, value, tags.ToArray())));
        listener.Start();
        return listener;
    }

    private static WebApplication Collector(Func<HttpRequest, Task> take)
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.UseUrls("http://127.0.0.1:0");
        var app = builder.Build();
        app.MapPost("/{**path}", async (HttpContext context) => await take(context.Request));
        return app;
    }
}
