using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;

namespace LibraryShelf.Web.Tests;

/// <summary>Tells the test what broke: a 500's exception goes along in a header, which a failing test prints.</summary>
internal sealed class FaultsInAnswers : IStartupFilter
{
    public const string Header = "Shelf-Test-Fault";

    public Action<IApplicationBuilder> Configure(Action<IApplicationBuilder> next) => app =>
    {
        app.Use((context, rest) =>
        {
            context.Response.OnStarting(() =>
            {
                if (context.Features.Get<IExceptionHandlerFeature>()?.Error is { } fault)
                    context.Response.Headers[Header] = Uri.EscapeDataString(fault.ToString());
                return Task.CompletedTask;
            });
            return rest(context);
        });
        next(app);
    };

    /// <summary>The status, and what broke when something did.</summary>
    public static string Describe(HttpResponseMessage response) => response.Headers.TryGetValues(Header, out var faults)
        ? $"{(int)response.StatusCode}\n{Uri.UnescapeDataString(faults.First())}" : $"{(int)response.StatusCode}";
}
