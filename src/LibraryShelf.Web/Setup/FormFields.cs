using System.Text.Encodings.Web;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Html;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.ModelBinding;
using Microsoft.AspNetCore.Mvc.Rendering;
using Microsoft.AspNetCore.Mvc.Routing;
using Microsoft.AspNetCore.Mvc.ViewFeatures;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>Forms of who gets no token (<see cref="FormProof"/>) have no field for it.</summary>
internal sealed class FormFields(
    IAntiforgery antiforgery, IOptions<MvcViewOptions> options, IModelMetadataProvider metadata, IUrlHelperFactory urls, HtmlEncoder encoder, ValidationHtmlAttributeProvider validation)
    : DefaultHtmlGenerator(antiforgery, options, metadata, urls, encoder, validation)
{
    public override IHtmlContent GenerateAntiforgery(ViewContext viewContext)
    {
        if (FormProof.NeedsTokens(viewContext.HttpContext))
            return base.GenerateAntiforgery(viewContext);
        FormProof.KeepNowhere(viewContext.HttpContext);
        return HtmlString.Empty;
    }
}
