using Microsoft.AspNetCore.Http;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.Mvc.RazorPages.Infrastructure;
using Microsoft.AspNetCore.Routing;
using Microsoft.Extensions.DependencyInjection;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>Everything the running host can be asked for, as its own routing table says: one line per method, and per handler of a page.</summary>
internal static class RoutingTable
{
    public static async Task<SortedSet<string>> ReadAsync(IServiceProvider services)
    {
        var lines = new SortedSet<string>(StringComparer.Ordinal);
        foreach (var endpoint in services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>())
        {
            var path = "/" + endpoint.RoutePattern.RawText!.TrimStart('/').TrimEnd('/');
            lines.UnionWith(endpoint.Metadata.GetMetadata<PageActionDescriptor>() is { } page
                ? await HandlersAsync(services, page, endpoint.Metadata, path)
                : Methods(endpoint, path));
        }
        return lines;
    }

    /// <summary>What answers to GET and is no page: one line for each.</summary>
    public static SortedSet<string> NoPages(IServiceProvider services) => new(
        services.GetRequiredService<EndpointDataSource>().Endpoints.OfType<RouteEndpoint>()
            .Where(e => e.Metadata.GetMetadata<PageActionDescriptor>() is null)
            .SelectMany(e => Methods(e, "/" + e.RoutePattern.RawText!.Trim('/')))
            .Where(line => line.StartsWith("GET ", StringComparison.Ordinal) || line.StartsWith("ANY ", StringComparison.Ordinal)), StringComparer.Ordinal);

    private static IEnumerable<string> Methods(RouteEndpoint endpoint, string path) =>
        (endpoint.Metadata.GetMetadata<IHttpMethodMetadata>()?.HttpMethods is { Count: > 0 } methods ? methods : ["ANY"]).Select(m => $"{m} {path}");

    private static async Task<IEnumerable<string>> HandlersAsync(
        IServiceProvider services, PageActionDescriptor page, EndpointMetadataCollection metadata, string path)
    {
        var compiled = await services.GetRequiredService<PageLoader>().LoadAsync(page, metadata);
        return compiled.HandlerMethods
            .Select(h => $"{h.HttpMethod.ToUpperInvariant()} {path}" + (h.Name is { Length: > 0 } name ? $"?handler={name}" : ""))
            // A page can be looked at also when its model has nothing to do first.
            .Append($"GET {path}");
    }
}
