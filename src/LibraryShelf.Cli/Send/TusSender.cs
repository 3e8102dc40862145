using System.Globalization;
using System.Net;
using System.Net.Http.Headers;
using System.Text;
using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Output;

namespace LibraryShelf.Cli.Send;

/// <summary>
/// Sends one file by tus 1.0.0 (https://tus.io/protocols/resumable-upload): small ones in the request that creates the upload, others
/// piece by piece. After a cut it asks how far the shelf is and goes on from there.
/// </summary>
internal sealed class TusSender(ShelfClient shelf, Patience patience, Action<long> confirmed)
{
    /// <summary>Bytes a request carries at most: small enough that progress is true, large enough that round trips don't count.</summary>
    private const int PieceBytes = 4 << 20;
    private static readonly MediaTypeHeaderValue PieceType = new("application/offset+octet-stream");

    public async Task SendAsync(long draft, LocalFile file, WantedLine wanted, CancellationToken cancellationToken)
    {
        var upload = wanted.Upload is null ? null : shelf.At(wanted.Upload);
        var offset = -1L;
        long counted = 0;
        for (var tries = 0; ;)
        {
            try
            {
                (upload, offset) = await StepAsync(draft, file, wanted, upload, offset, cancellationToken);
                confirmed(offset - counted);
                tries = offset > counted ? 0 : tries;
                counted = offset;
                if (offset == wanted.Size)
                    return;
            }
            catch (Exception e) when (Patience.IsPassing(e, cancellationToken))
            {
                await patience.WaitAsync(tries++, e, cancellationToken);
                offset = -1;
            }
        }
    }

    /// <summary>One request: create, ask (offset unknown, −1) or send a piece. Answers where the upload is and how far.</summary>
    private async Task<(Uri? Upload, long Offset)> StepAsync(
        long draft, LocalFile file, WantedLine wanted, Uri? upload, long offset, CancellationToken cancellationToken)
    {
        using var request = upload is null ? await CreateAsync(draft, file, wanted, cancellationToken)
            : offset < 0 ? Tus(HttpMethod.Head, upload)
            : await PieceAsync(file, wanted, upload, offset, cancellationToken);
        using var answer = await shelf.SendAsync(request, cancellationToken);
        switch (answer.StatusCode)
        {
            case HttpStatusCode.NotFound or HttpStatusCode.Gone when upload is not null:
                // Given up or swept meanwhile: begin anew.
                return (null, 0);
            case HttpStatusCode.Conflict when upload is not null:
                return (upload, OffsetOf(answer) ?? -1);
            case var status when Patience.IsPassing(status):
                throw new PassingTroubleException(await shelf.WhyAsync(answer, cancellationToken));
            case var status when (int)status >= 300:
                throw new CouldNotRunException(await shelf.WhyAsync(answer, cancellationToken));
        }
        upload ??= shelf.At(answer.Headers.Location?.OriginalString ?? throw new CouldNotRunException("the shelf made an upload without saying where. Is it a shelf?"));
        return (upload, OffsetOf(answer) ?? 0);
    }

    private static async Task<HttpRequestMessage> CreateAsync(long draft, LocalFile file, WantedLine wanted, CancellationToken cancellationToken)
    {
        var request = Tus(HttpMethod.Post, new Uri("uploads", UriKind.Relative));
        request.Headers.Add("Upload-Length", Text(wanted.Size));
        request.Headers.Add("Upload-Metadata",
            $"release {Base64(Text(draft))},path {Base64(wanted.Path)},sha256 {Base64(wanted.Sha256 ?? "")},kind {Base64("file")}");
        if (wanted.Size is > 0 and <= PieceBytes)
            request.Content = await ReadAsync(file, 0, (int)wanted.Size, cancellationToken);
        return request;
    }

    private static async Task<HttpRequestMessage> PieceAsync(LocalFile file, WantedLine wanted, Uri upload, long offset, CancellationToken cancellationToken)
    {
        var request = Tus(HttpMethod.Patch, upload);
        request.Headers.Add("Upload-Offset", Text(offset));
        request.Content = await ReadAsync(file, offset, (int)Math.Min(PieceBytes, wanted.Size - offset), cancellationToken);
        return request;
    }

    private static async Task<ByteArrayContent> ReadAsync(LocalFile file, long offset, int count, CancellationToken cancellationToken)
    {
        var bytes = new byte[count];
        using var handle = File.OpenHandle(file.FullPath, options: FileOptions.Asynchronous);
        for (int done = 0, read; done < count; done += read)
        {
            read = await RandomAccess.ReadAsync(handle, bytes.AsMemory(done), offset + done, cancellationToken);
            if (read == 0)
                throw new CouldNotRunException($"\"{file.Path}\" became shorter while it was sent. What was sent is kept; run the same command again.");
        }
        var content = new ByteArrayContent(bytes);
        content.Headers.ContentType = PieceType;
        return content;
    }

    private static HttpRequestMessage Tus(HttpMethod method, Uri address)
    {
        var request = new HttpRequestMessage(method, address);
        request.Headers.Add("Tus-Resumable", "1.0.0");
        return request;
    }

    private static long? OffsetOf(HttpResponseMessage answer) =>
        answer.Headers.TryGetValues("Upload-Offset", out var values)
        && long.TryParse(values.First(), NumberStyles.None, CultureInfo.InvariantCulture, out var offset) ? offset : null;

    private static string Text(long number) => number.ToString(CultureInfo.InvariantCulture);

    private static string Base64(string text) => Convert.ToBase64String(Encoding.UTF8.GetBytes(text));
}
