using Hangfire;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Jobs;

/// <summary>Every job there is, in plain words: those that recur, then those that are woken by what happened (<see cref="JobChain"/>).</summary>
internal static class JobList
{
    private static string EachMinute => T("Each minute, and at start.");

    private static string EachDay => T("Each day, and at start.");

    public static IReadOnlyList<ListedJob> All(ShelfSettings settings) =>
    [
        new(typeof(SweepJob), T("Look for what is left undone"), T("Finds what a stop of the program left standing, and wakes the job for it. Ends uploads nobody went on with."), EachMinute)
            { Recurs = new("sweep", Cron.Minutely()) },
        new(typeof(WatchJob), T("Watch"), T("Looks after free room on the disks, mails that can’t be sent and backups that get old, and writes to you about what you have to know."), EachMinute)
            { Recurs = new("watch", Cron.Minutely()) },
        new(typeof(BackupJob), T("Backup"), T("Copies the database and every new file to the folder for backups, and removes backups that are too old."), BackupWhen(settings.Backup))
            { Recurs = new("backup", Cron.Daily(settings.Backup.Hour), IsAtStart: false) },
        new(typeof(ReconcileJob), T("Look at the payment provider"), T("Looks at every paid membership there, in case a message about it was missed."), EachDay)
            { Recurs = new("reconcile", Cron.Daily(4)) },
        new(typeof(ForgetJob), T("Forget"), T("Removes what is kept no longer: of deleted people, to whom old mails went, old sign-in links, old messages."), EachDay)
            { Recurs = new("forget", Cron.Daily(3)) },
        new(typeof(ReadAgainJob), T("Read again"), T("Reads archives once more that could not be read through, in case the disk was mended."), EachDay)
            { Recurs = new("read again", Cron.Daily()) },
        new(typeof(CollectJob), T("Clear up"), T("Removes files that nothing has used for a week, and updates nobody fetched for a month."), T("Four times a day."))
            { Recurs = new("collect", "23 */6 * * *", IsAtStart: false) },

        new(typeof(UnpackJob), T("Unpack"), T("Puts the files of a zip into its draft."), T("When a zip has arrived.")),
        new(typeof(CheckJob), T("Check"), T("Measures new recordings and writes the check sheet."), T("When you ask for a check, and when a folder has arrived.")),
        new(typeof(CompareJob), T("Compare"), T("Compares a version with the one before it."), T("After a check.")),
        new(typeof(SealJob), T("Seal and publish"), T("Freezes a version for ever, and publishes it if you asked for that."), T("When you press it.")),
        new(typeof(DigestJob), T("Read through"), T("Reads an archive once from end to end, for its checksum."), T("After sealing.")),
        new(typeof(WeighJob), T("Weigh updates"), T("Works out how large an update from each earlier version would be."), T("After sealing.")),
        new(typeof(ListenJob), T("Make excerpts"), T("Makes what can be heard of a library on its page, from the version that the page plays, and of the music beside it."), T("After publishing, and when you add a piece of music.")),
        new(typeof(DropJob), T("Send a drop"), T("Publishes all versions of a month’s drop at once and writes a mail to everybody whose it is."), T("On the drop’s day, at its time.")),
        new(typeof(TellJob), T("Tell"), T("Writes the mails about a version that was published, given early or withdrawn, and those of your letter to who is left behind."), T("When that happens.")),
        new(typeof(MailJob), T("Send mails"), T("Sends what waits in the outbox."), T("When a mail was written, and when one is to be tried again.")),
        new(typeof(CountJob), T("Count"), T("Counts downloads, by day and by drop."), T("When bytes were fetched.")),
        new(typeof(PaymentsJob), T("Follow up payments"), T("Looks at what the payment provider’s messages are about."), T("When a message came.")),
        new(typeof(MoneyJob), T("Prices and credits"), T("Tells people of another price and gives back for a month that slipped."), T("When you decide on one, and on its day.")),
        new(typeof(TellAddressJob), T("Tell a new address"), T("Tells the payment provider somebody’s new address."), T("When somebody changed it.")),
        new(typeof(WeekJob), T("Write the week’s letter"), T("Writes you one mail with the three things in last week’s figures that say most."), T("Each Monday at 08:00 of the shop’s time, or later in the week if the shelf was down.")),
        new(typeof(KeepDeletionsJob), T("Note deletions and stops"), T("Notes beside the backups who was deleted and who wants no mails, as numbers, so that a restored shelf deletes them again and leaves them alone."), T("When somebody had themselves deleted, or stopped a mail.")),
    ];

    private static string BackupWhen(BackupSettings backup) => backup.Directory.Length == 0
        ? T("Never: no folder for backups is set. Whoever runs the server sets Shelf:Backup:Directory.")
        : T($"Each night at {backup.Hour:00}:00 UTC, into {backup.Directory}, and within the hour after a night was missed. Each is kept for {Plural.Of(backup.KeepDays, "day")}.");
}
