using System.Globalization;
using LibraryShelf.Core.Intake;
using LibraryShelf.Web.Jobs;

namespace LibraryShelf.Web.Endpoints;

/// <summary>Says an upload's outcome in tus's statuses and headers, and wakes the unpacking of a finished zip.</summary>
internal static class TusAnswers
{
    public static IResult Of(UploadOutcome outcome, string id, HttpResponse response, JobChain chain, int done)
    {
        TusProtocol.SetExpires(response, outcome.ExpiresAt);
        switch (outcome)
        {
            case UploadOutcome.Open open:
                return At(response, open.Offset, done);
            case UploadOutcome.Finished finished:
                if (finished.Unpack)
                    chain.UnpackSoon(id);
                return At(response, finished.Length, done);
            case UploadOutcome.NoSuchUpload:
                return NoSuchUpload();
            case UploadOutcome.Expired:
                return Refusals.Say(StatusCodes.Status410Gone, T("Nobody went on with this upload for a week, so it was given up. What the draft holds is kept. Send the folder again."));
            case UploadOutcome.Busy:
                return Busy();
            case UploadOutcome.WrongOffset wrong:
                return At(response, wrong.Offset, Refusals.Say(StatusCodes.Status409Conflict, T($"The shelf has {wrong.Offset} bytes of this upload. Go on from there.")));
            case UploadOutcome.BadChecksum bad:
                return At(response, bad.Offset, Refusals.Say(TusProtocol.ChecksumMismatch, T("These bytes were damaged on the way and were dropped. Send them again.")));
            case UploadOutcome.TooLong tooLong:
                return At(response, tooLong.Offset, Refusals.Say(StatusCodes.Status413PayloadTooLarge, tooLong.Offset == tooLong.Length
                    ? T($"More bytes came than the {tooLong.Length} announced. Those announced are kept.")
                    : T($"More bytes came than the {tooLong.Length} announced, so their checksum can’t be right. They were dropped; go on from {tooLong.Offset}.")));
            case UploadOutcome.TooLarge tooLarge:
                return Refusals.Say(StatusCodes.Status413PayloadTooLarge, tooLarge.Message);
            case UploadOutcome.Mismatch mismatch:
                return Refusals.Say(StatusCodes.Status422UnprocessableEntity, mismatch.Message);
            case UploadOutcome.Closed closed:
                return Refusals.Say(StatusCodes.Status403Forbidden, closed.Message);
            case UploadOutcome.NoRoom noRoom:
                return At(response, noRoom.Offset, Refusals.Say(StatusCodes.Status507InsufficientStorage, noRoom.Message));
            default:
                throw new InvalidOperationException(outcome.ToString());
        }
    }

    public static IResult NoSuchUpload() =>
        Refusals.Say(StatusCodes.Status404NotFound, T("There is no such upload; it was finished long ago, given up or never begun. Send the folder again."));

    public static IResult Busy() =>
        Refusals.Say(StatusCodes.Status423Locked, T("Another connection is still sending this file. Try again in a moment."));

    private static IResult At(HttpResponse response, long offset, int status) => At(response, offset, Results.StatusCode(status));

    private static IResult At(HttpResponse response, long offset, IResult result)
    {
        response.Headers[TusProtocol.Offset] = offset.ToString(CultureInfo.InvariantCulture);
        return result;
    }
}
