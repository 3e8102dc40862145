using System.Text;
using Microsoft.AspNetCore.Mvc;
using Microsoft.Net.Http.Headers;

namespace LibraryShelf.Web.Pages.Words;

/// <summary>A file for spreadsheets, RFC 4180, whose lines are written as they are read, so that many of them are never in memory at once.</summary>
/// <param name="name">Of the file.</param>
/// <param name="head">Its first line.</param>
/// <param name="lines">The others, without their ends.</param>
internal sealed class CsvLines(string name, string head, IAsyncEnumerable<string> lines) : ActionResult
{
    public override async Task ExecuteResultAsync(ActionContext context)
    {
        ArgumentNullException.ThrowIfNull(context);
        var response = context.HttpContext.Response;
        response.ContentType = "text/csv; charset=utf-8";
        var place = new ContentDispositionHeaderValue("attachment");
        place.SetHttpFileName(name);
        response.Headers.ContentDisposition = place.ToString();
        await using var writer = new StreamWriter(response.Body, new UTF8Encoding(encoderShouldEmitUTF8Identifier: false), bufferSize: 16 * 1024, leaveOpen: true);
        writer.NewLine = "\r\n";
        await writer.WriteLineAsync(head);
        await foreach (var line in lines.WithCancellation(context.HttpContext.RequestAborted))
            await writer.WriteLineAsync(line);
    }
}
