using LibraryShelf.Core.Letters.Runs;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>How far mails to many are, in sentences: what has gone, what waits, what stopping does. Only what was sent has gone: what was left out or given up is named for itself.</summary>
internal static class MailRunWords
{
    /// <summary>For addresses within a page.</summary>
    public static string Name(MailRun run) => run.Kind.ToString().ToLowerInvariant() + (run.Kind is MailRunKind.Price or MailRunKind.Credit ? $"-{run.AboutId}" : "");

    public static string HasToBeTold => T("They can’t be stopped: whom they concern has to get them.");

    public static HowFar Far(MailRun run, MailsGone gone, int mostAnHour)
    {
        List<string> words = [];
        if (gone.IsBeingWritten)
            words.Add(T("Its mails are being written."));
        if (gone.Written > 0)
            words.AddRange([HaveGone(gone), .. Others(gone)]);
        if (mostAnHour > 0 && gone.Waiting > 0)
            words.Add(T($"At most {mostAnHour} mails go in an hour."));
        if (!run.CanBeStopped)
            words.Add(HasToBeTold);
        words.Add(T("You may close this page."));
        return new($"mails-{Name(run)}", string.Join(' ', words), gone.Written - gone.Waiting, gone.Written, T("Mails whose turn has come"));
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
        1 when gone.Written == 1 => T("Send it"),
        1 => T("Send the other one"),
        var waiting when waiting == gone.Written => T($"Send the {waiting}"),
        var waiting => T($"Send the other {waiting}"),
    };

    public static string Stopped(MailsGone gone, DateTimeOffset at, DateTimeZone zone)
    {
        List<string> words = [T($"You stopped them on {Dates.DayAndTime(at, zone)}.")];
        if (gone.Written > 0)
            words.AddRange([HaveGone(gone), .. Others(gone)]);
        words.Add(Waiting(gone));
        words.Add(gone.Sent > 0 ? T("What has gone can’t be called back, and what it is about stays as it is.") : T("What they are about stays as it is."));
        return string.Join(' ', words);
    }

    public static string NoneWaits(MailsGone gone) => gone switch
    {
        { Written: 0 } => T("There was nothing to stop: no mails were written."),
        { Sent: 0 } => T($"There was nothing to stop any more. {Over(gone)}"),
        _ => T($"There was nothing to stop any more. {Over(gone)} What has gone can’t be called back."),
    };

    public static string GoOn(MailsGone gone) => gone.Waiting switch
    {
        0 when gone.IsBeingWritten => T("They are not stopped any more, and go out as they are written."),
        0 => T("They are not stopped any more. None of them waited."),
        1 => T("The one mail that waited goes out now."),
        var waiting => T($"The {waiting} mails that waited go out now, one after the other."),
    };

    public static string Over(MailsGone gone)
    {
        string[] words = [gone.Sent switch { 0 => T("No mail was sent."), 1 => T("1 mail was sent."), var sent => T($"{sent} mails were sent.") }, .. Others(gone)];
        return string.Join(' ', words);
    }

    /// <summary>What came to its turn and was not sent, and why.</summary>
    private static IEnumerable<string> Others(MailsGone gone)
    {
        if (gone.LeftOut > 0)
            yield return gone.LeftOut == 1 ? T("1 was left out, not wanted or not needed any more when its turn came.") : T($"{gone.LeftOut} were left out, not wanted or not needed any more when their turn came.");
        if (gone.GivenUp > 0)
            yield return gone.GivenUp == 1 ? T("1 could not be sent; it stands in the outbox.") : T($"{gone.GivenUp} could not be sent; they stand in the outbox.");
    }

    public static string What(StoppedMails stopped) => stopped switch
    {
        { Run.Kind: MailRunKind.Drop, Month: { } month } => T($"The letters of the drop of {DropWords.Month(month)}"),
        { Run.Kind: MailRunKind.Slip, Month: { } month } => T($"The letters that {DropWords.Month(month)} slips"),
        { Version: "" } => T("Mails about something that is not there any more"),
        { Run.Kind: MailRunKind.Letter } => T($"Your letter about {stopped.Version}"),
        _ => T($"The mails about {stopped.Version}"),
    };

    /// <summary>That they stand still, and what waits, where they are one thing among others.</summary>
    public static string YouStopped(StoppedMails stopped)
    {
        var said = stopped switch
        {
            { Run.Kind: MailRunKind.Drop, Month: { } month } => T($"You stopped the letters of the drop of {DropWords.Month(month)}."),
            { Run.Kind: MailRunKind.Slip, Month: { } month } => T($"You stopped the letters that {DropWords.Month(month)} slips."),
            { Version: "" } => T("You stopped mails about something that is not there any more."),
            { Run.Kind: MailRunKind.Letter } => T($"You stopped your letter about {stopped.Version}."),
            _ => T($"You stopped the mails about {stopped.Version}."),
        };
        return $"{said} {Waiting(stopped.Gone)}";
    }

    private static string HaveGone(MailsGone gone) => (gone.Sent, gone.Written) switch
    {
        (0, 1) => T("The one mail has not gone."),
        (1, 1) => T("The one mail has gone."),
        var (sent, all) when sent == all => T($"All {Plural.Of(all, "mail")} have gone."),
        (0, _) => T($"None of {Plural.Of(gone.Written, "mail")} has gone."),
        (1, _) => T($"1 of {Plural.Of(gone.Written, "mail")} has gone."),
        var (sent, _) => T($"{sent} of {Plural.Of(gone.Written, "mail")} have gone."),
    };

    /// <summary>What waits, in a sentence.</summary>
    public static string Waiting(MailsGone gone) => gone.Waiting switch
    {
        0 when gone.IsBeingWritten => T("Those still to be written wait here until you send them."),
        0 => T("None of them waits any more."),
        1 => T("1 waits here until you send it."),
        var waiting => T($"{waiting} wait here until you send them."),
    };
}
