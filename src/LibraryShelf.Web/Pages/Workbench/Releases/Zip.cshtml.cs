using LibraryShelf.Core.Intake;
using LibraryShelf.Web.Endpoints;
using LibraryShelf.Web.Jobs;
using Microsoft.AspNetCore.Antiforgery;
using Microsoft.AspNetCore.Mvc;
using Microsoft.AspNetCore.Mvc.RazorPages;
using Microsoft.AspNetCore.WebUtilities;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>
/// The way in without script: one .zip in one form, written to disk as it arrives. The platform's own reading of forms, and its
/// antiforgery check, would keep the whole form first; so the token is the form's first part and is checked here.
/// </summary>
[IgnoreAntiforgeryToken, DisableRequestSizeLimit, LeaveFormUnread]
internal sealed class ZipModel(TakeZip take, IAntiforgery antiforgery, JobChain chain) : PageModel
{
    private const int TokenCharacters = 4096;

    public long Id { get; private set; }

    public string? Problem { get; private set; }

    public void OnGet(long id) => Id = id;

    public async Task<IActionResult> OnPostAsync(long id, CancellationToken cancellationToken)
    {
        Id = id;
        if (ReaderOf(Request) is not { } reader)
            return Refuse(T("The form came in a way this page does not read. Choose the .zip again."));
        if (!await IsProvedAsync(reader, cancellationToken))
            return Refuse(T("This page was opened too long ago or by somebody else. Nothing was kept. Choose the .zip again."), StatusCodes.Status400BadRequest);
        if (await reader.ReadNextSectionAsync(cancellationToken) is not { } section || section.AsFileSection() is not { } file)
            return Refuse(T("No zip was chosen. Choose the .zip that holds the recordings."));
        switch (await take.RunAsync(Id, Path.GetFileName(file.FileName), section.Body, cancellationToken))
        {
            case TakeZipOutcome.Taken taken:
                chain.UnpackSoon(taken.UploadId);
                return Redirect($"{Request.PathBase}/workbench/releases/{Id}");
            case TakeZipOutcome.NoRoom noRoom:
                return Refuse(noRoom.Message, StatusCodes.Status507InsufficientStorage);
            case TakeZipOutcome.Refused refused:
                return Refuse(refused.Message);
            default:
                return NotFound();
        }
    }

    private PageResult Refuse(string problem, int status = StatusCodes.Status422UnprocessableEntity)
    {
        Problem = problem;
        Response.StatusCode = status;
        return Page();
    }

    private static MultipartReader? ReaderOf(HttpRequest request)
    {
        var boundary = MediaTypeHeaderValue.TryParse(request.ContentType, out var type) && type.MediaType == "multipart/form-data"
            ? HeaderUtilities.RemoveQuotes(type.Boundary).Value
            : null;
        return string.IsNullOrEmpty(boundary) || boundary.Length > 70 ? null : new MultipartReader(boundary, request.Body);
    }

    private async Task<bool> IsProvedAsync(MultipartReader reader, CancellationToken cancellationToken)
    {
        if (await reader.ReadNextSectionAsync(cancellationToken) is not { } section || section.AsFormDataSection() is not { Name: SenderGuard.Field })
            return false;
        using var text = new StreamReader(section.Body);
        var token = new char[TokenCharacters];
        var length = await text.ReadBlockAsync(token, cancellationToken);
        // Where the platform looks first; the form itself stays unread.
        Request.Headers[SenderGuard.Header] = new string(token, 0, length);
        return await antiforgery.IsRequestValidAsync(HttpContext);
    }
}
