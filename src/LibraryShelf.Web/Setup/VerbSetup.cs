using System.Reflection;
using LibraryShelf.Core.Data;

namespace LibraryShelf.Web.Setup;

internal static class VerbSetup
{
    /// <summary>Registers every verb of Core: a sealed class with a public RunAsync is one, and lives as long as its request or job.</summary>
    public static void AddShelfVerbs(this WebApplicationBuilder builder)
    {
        foreach (var verb in typeof(ShelfDb).Assembly.GetExportedTypes().Where(IsVerb))
            builder.Services.AddScoped(verb);
    }

    internal static bool IsVerb(Type type) =>
        type is { IsClass: true, IsSealed: true, IsAbstract: false }
        && Array.Exists(type.GetMethods(BindingFlags.Public | BindingFlags.Instance | BindingFlags.DeclaredOnly), m => m.Name == "RunAsync");
}
