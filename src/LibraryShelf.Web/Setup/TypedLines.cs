using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using Microsoft.AspNetCore.Mvc.ModelBinding.Binders;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// Lines that somebody typed end as they ended in the field. Browsers send CR and LF (HTML, "Constructing the entry list", multipart and urlencoded alike), which counts one
/// sign too many a line against a field's maxlength, and put back into the page makes a reference to CR, which HTML forbids.
/// </summary>
internal sealed class TypedLines(ILoggerFactory logs) : IModelBinder
{
    private readonly SimpleTypeModelBinder text = new(typeof(string), logs);

    /// <summary>In the place of what binds texts; what comes in a body or a header is bound before it as ever.</summary>
    public static void AddTo(MvcOptions options)
    {
        var at = options.ModelBinderProviders.ToList().FindIndex(p => p is SimpleTypeModelBinderProvider);
        options.ModelBinderProviders.Insert(at, new Provider());
    }

    public async Task BindModelAsync(ModelBindingContext bindingContext)
    {
        await text.BindModelAsync(bindingContext);
        if (bindingContext.Result is { IsModelSet: true, Model: string typed } && typed.Contains('\r', StringComparison.Ordinal))
            bindingContext.Result = ModelBindingResult.Success(typed.Replace("\r\n", "\n", StringComparison.Ordinal).Replace('\r', '\n'));
    }

    private sealed class Provider : IModelBinderProvider
    {
        public IModelBinder? GetBinder(ModelBinderProviderContext context) =>
            context.Metadata.ModelType == typeof(string) ? new TypedLines(context.Services.GetRequiredService<ILoggerFactory>()) : null;
    }
}
