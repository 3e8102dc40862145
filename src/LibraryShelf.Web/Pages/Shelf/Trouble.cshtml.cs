using System.Globalization;
using LibraryShelf.Web.Pages.Words;
using LibraryShelf.Core.Storage;
using Microsoft.AspNetCore.Diagnostics;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;

namespace LibraryShelf.Web.Pages.Shelf;

/// <summary>What a reader sees in place of a page that can't be shown.</summary>
[IgnoreAntiforgeryToken]
[ResponseCache(NoStore = true)]
public sealed class TroubleModel : PageModel
{
    public int Code { get; private set; }

    public bool IsMissing => Code == StatusCodes.Status404NotFound;

    /// <summary>What Retry-After says (seconds), in words.</summary>
    public string Wait => int.TryParse(Response.Headers.RetryAfter, CultureInfo.InvariantCulture, out var seconds)
        ? Plural.Of((seconds + 59) / 60, "minute")
        : T("ten minutes");

    public void OnGet([FromRoute] int code) => Show(code);

    public void OnPost([FromRoute] int code) => Show(code);

    private void Show(int code)
    {
        var isFull = HttpContext.Features.Get<IExceptionHandlerFeature>() is { Error: { } fault } && DiskTrouble.IsFull(fault);
        Code = isFull ? StatusCodes.Status507InsufficientStorage : code is >= 400 and <= 599 ? code : StatusCodes.Status404NotFound;
        Response.StatusCode = Code;
    }
}
