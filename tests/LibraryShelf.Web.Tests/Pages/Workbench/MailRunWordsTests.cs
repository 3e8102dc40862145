using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Letters.Runs;
using LibraryShelf.Web.Pages.Workbench;
using NodaTime;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>None, one and all are said as one says them, and nothing has gone that was not sent.</summary>
public sealed class MailRunWordsTests
{
    private static readonly DateTimeOffset At = new(2026, 11, 25, 12, 0, 0, TimeSpan.Zero);

    [Theory]
    [InlineData(0, 0, 0, 0, true, "Those still to be written wait here until you send them. What they are about stays as it is.")]
    [InlineData(1, 0, 0, 0, false, "The one mail has not gone. 1 waits here until you send it. What they are about stays as it is.")]
    [InlineData(1, 1, 0, 0, false, "The one mail has gone. None of them waits any more. What has gone can’t be called back, and what it is about stays as it is.")]
    [InlineData(3, 3, 0, 0, true, "All 3 mails have gone. Those still to be written wait here until you send them. What has gone can’t be called back, and what it is about stays as it is.")]
    [InlineData(3, 0, 0, 1, false, "None of 3 mails has gone. 1 could not be sent; it stands in the outbox. 2 wait here until you send them. What they are about stays as it is.")]
    [InlineData(9, 1, 2, 2, false, "1 of 9 mails has gone. 2 were left out, not wanted or not needed any more when their turn came. 2 could not be sent; they stand in the outbox. 4 wait here until you send them. What has gone can’t be called back, and what it is about stays as it is.")]
    public void What_was_stopped(int written, int sent, int leftOut, int givenUp, bool isBeingWritten, string words) =>
        Assert.Equal("You stopped them on 25 November 2026 at 12:00. " + words, MailRunWords.Stopped(new(written, sent, leftOut, givenUp, At, isBeingWritten), At, DateTimeZone.Utc));

    [Theory]
    [InlineData(0, 0, true, "They are not stopped any more, and go out as they are written.", "Let them go")]
    [InlineData(2, 2, false, "They are not stopped any more. None of them waited.", "Let them go")]
    [InlineData(1, 0, false, "The one mail that waited goes out now.", "Send it")]
    [InlineData(2, 1, false, "The one mail that waited goes out now.", "Send the other one")]
    [InlineData(3, 0, false, "The 3 mails that waited go out now, one after the other.", "Send the 3")]
    [InlineData(5, 2, false, "The 3 mails that waited go out now, one after the other.", "Send the other 3")]
    public void What_goes_on(int written, int sent, bool isBeingWritten, string words, string button)
    {
        var gone = new MailsGone(written, sent, 0, 0, At, isBeingWritten);
        Assert.Equal((words, button), (MailRunWords.GoOn(gone), MailRunWords.SendOn(gone)));
    }

    [Theory]
    [InlineData(0, 0, "There was nothing to stop: no mails were written.")]
    [InlineData(2, 0, "There was nothing to stop any more. No mail was sent. 2 were left out, not wanted or not needed any more when their turn came.")]
    [InlineData(2, 1, "There was nothing to stop any more. 1 mail was sent. 1 was left out, not wanted or not needed any more when its turn came. What has gone can’t be called back.")]
    public void What_was_over(int written, int sent, string words) => Assert.Equal(words, MailRunWords.NoneWaits(new(written, sent, written - sent, 0, null, false)));

    [Fact]
    public void Each_kind_has_a_sentence_on_the_first_page()
    {
        string Of(MailRunKind kind, string version, YearMonth? month = null) => MailRunWords.YouStopped(new(new(kind, 1), new(3, 1, 0, 0, At, false), month, version));
        Assert.Equal("You stopped the letters of the drop of November 2026. 2 wait here until you send them.", Of(MailRunKind.Drop, "", new(2026, 11)));
        Assert.Equal("You stopped the letters that November 2026 slips. 2 wait here until you send them.", Of(MailRunKind.Slip, "", new(2026, 11)));
        Assert.Equal("You stopped the mails about Salt Jar 2.1.0. 2 wait here until you send them.", Of(MailRunKind.Version, "Salt Jar 2.1.0"));
        Assert.Equal("You stopped your letter about Salt Jar 2.1.0. 2 wait here until you send them.", Of(MailRunKind.Letter, "Salt Jar 2.1.0"));
        Assert.Equal("You stopped mails about something that is not there any more. 2 wait here until you send them.", Of(MailRunKind.Letter, ""));
    }

    [Fact]
    public void Tried_again_one_that_was_stopped_does_not_go_out_by_itself() =>
        Assert.Equal("It is in the outbox again, and waits with the others that you stopped until you let them go.", MailText.TriedAgain(TryMailAgainOutcome.WaitsStopped));
}
