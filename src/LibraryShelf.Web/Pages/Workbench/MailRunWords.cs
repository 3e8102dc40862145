using LibraryShelf.Core.Letters.Runs;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>How far mails to many are, in sentences: what has gone, what waits, what stopping does.</summary>
internal static class MailRunWords
{
    /// <summary>For addresses within a page.</summary>
    public static string Name(MailRun run) => run.Kind.ToString().ToLowerInvariant();

    public static HowFar Far(MailRun run, MailsGone gone, int mostAnHour)
    {
        List<string> words = [];
        if (gone.IsBeingWritten)
            words.Add(T("Its mails are being written."));
        if (gone.Written > 0)
            words.Add(HaveGone(gone));
        if (mostAnHour > 0 && gone.Waiting > 0)
            words.Add(T($"At most {mostAnHour} mails go in an hour."));
        words.Add(T("You may close this page."));
        return new($"mails-{Name(run)}", string.Join(' ', words), gone.Written - gone.Waiting, gone.Written, T("Mails that have gone"));
    }

    public static string Stop(MailsGone gone) => gone.Waiting switch
    {
        0 => T("Stop the mails"),
        1 => T("Stop the one that waits"),
        var waiting => T($"Stop the {waiting} that wait"),
    };

    public static string SendOn(MailsGone gone) => gone.Waiting switch
    {
        0 => T("Let them go"),
        1 => T("Send the other one"),
        var waiting => T($"Send the other {waiting}"),
    };

    public static string Stopped(MailsGone gone, DateTimeOffset at, DateTimeZone zone) => T(
        $"You stopped them on {Dates.DayAndTime(at, zone)}. {HaveGone(gone)} {Waiting(gone)} What has gone can’t be called back, and what it is about stays as it is.");

    public static string NoneWaits(MailsGone gone) => gone.Written == 0
        ? T("There was nothing to stop: no mails were written.") : T($"There was nothing to stop any more. {Over(gone)} What has gone can’t be called back.");

    public static string GoOn(MailsGone gone) => gone.Waiting == 1 ? T("The one mail that waited goes out now.") : T($"The {gone.Waiting} mails that waited go out now, one after the other.");

    public static string Over(MailsGone gone)
    {
        List<string> words = [gone.Sent == 1 ? T("1 mail was sent.") : T($"{gone.Sent} mails were sent.")];
        if (gone.LeftOut > 0)
            words.Add(gone.LeftOut == 1 ? T("1 was left out, not wanted or not needed any more when its turn came.") : T($"{gone.LeftOut} were left out, not wanted or not needed any more when their turn came."));
        if (gone.GivenUp > 0)
            words.Add(gone.GivenUp == 1 ? T("1 could not be sent; it stands in the outbox.") : T($"{gone.GivenUp} could not be sent; they stand in the outbox."));
        return string.Join(' ', words);
    }

    public static string What(StoppedMails stopped) => stopped switch
    {
        { Run.Kind: MailRunKind.Drop, Month: { } month } => T($"The letters of the drop of {DropWords.Month(month)}"),
        { Run.Kind: MailRunKind.Slip, Month: { } month } => T($"The letters that {DropWords.Month(month)} slips"),
        { Run.Kind: MailRunKind.Letter } => T($"Your letter about {stopped.Version}"),
        _ => T($"The mails about {stopped.Version}"),
    };

    private static string HaveGone(MailsGone gone) => (gone.Written - gone.Waiting, gone.Written) switch
    {
        (0, _) => T($"None of {Plural.Of(gone.Written, "mail")} has gone."),
        (1, _) => T($"1 of {Plural.Of(gone.Written, "mail")} has gone."),
        var (past, _) => T($"{past} of {Plural.Of(gone.Written, "mail")} have gone."),
    };

    /// <summary>What waits, in a sentence.</summary>
    public static string Waiting(MailsGone gone) => gone.Waiting switch
    {
        0 => T("Those still to be written wait here until you send them."),
        1 => T("1 waits here until you send it."),
        var waiting => T($"{waiting} wait here until you send them."),
    };
}
