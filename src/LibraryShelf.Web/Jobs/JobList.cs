using Hangfire;
using LibraryShelf.Core.Shared;

namespace LibraryShelf.Web.Jobs;

/// <summary>Every job there is, in plain words: those that recur, then those that are woken by what happened (<see cref="JobChain"/>).</summary>
internal static class JobList
{
    private const string EachMinute = "Each minute, and at start.", EachDay = "Each day, and at start.";

    public static IReadOnlyList<ListedJob> All(ShelfSettings settings) =>
    [
        new(typeof(SweepJob), "Look for what is left undone", "Finds what a stop of the program left standing, and wakes the job for it. Ends uploads nobody went on with.", EachMinute)
            { Recurs = new("sweep", Cron.Minutely()) },
        new(typeof(WatchJob), "Watch", "Looks after free room on the disks, mails that can’t be sent and backups that get old, and writes to you about what you have to know.", EachMinute)
            { Recurs = new("watch", Cron.Minutely()) },
        new(typeof(BackupJob), "Backup", "Copies the database and every new file to the folder for backups, and removes backups that are too old.", BackupWhen(settings.Backup))
            { Recurs = new("backup", Cron.Daily(settings.Backup.Hour), IsAtStart: false) },
        new(typeof(ReconcileJob), "Look at the payment provider", "Looks at every paid membership there, in case a message about it was missed.", EachDay)
            { Recurs = new("reconcile", Cron.Daily(4)) },
        new(typeof(ForgetJob), "Forget", "Removes what is kept no longer: of deleted people, to whom old mails went, old sign-in links, old messages.", EachDay)
            { Recurs = new("forget", Cron.Daily(3)) },
        new(typeof(ReadAgainJob), "Read again", "Reads archives once more that could not be read through, in case the disk was mended.", EachDay)
            { Recurs = new("read again", Cron.Daily()) },
        new(typeof(CollectJob), "Clear up", "Removes files that nothing has used for a week, and updates nobody fetched for a month.", "Four times a day.")
            { Recurs = new("collect", "23 */6 * * *", IsAtStart: false) },

        new(typeof(UnpackJob), "Unpack", "Puts the files of a zip into its draft.", "When a zip has arrived."),
        new(typeof(CheckJob), "Check", "Measures new recordings and writes the check sheet.", "When you ask for a check, and when a folder has arrived."),
        new(typeof(CompareJob), "Compare", "Compares a version with the one before it.", "After a check."),
        new(typeof(SealJob), "Seal and publish", "Freezes a version for ever, and publishes it if you asked for that.", "When you press it."),
        new(typeof(DigestJob), "Read through", "Reads an archive once from end to end, for its checksum.", "After sealing."),
        new(typeof(WeighJob), "Weigh updates", "Works out how large an update from each earlier version would be.", "After sealing."),
        new(typeof(ListenJob), "Make excerpts", "Makes what can be heard of a library on its page, from the version that the page plays, and of the music beside it.", "After publishing, and when you add a piece of music."),
        new(typeof(DropJob), "Send a drop", "Publishes all versions of a month’s drop at once and writes a mail to everybody whose it is.", "On the drop’s day, at its time."),
        new(typeof(TellJob), "Tell", "Writes the mails about a version that was published, given early or withdrawn, and those of your letter to who is left behind.", "When that happens."),
        new(typeof(MailJob), "Send mails", "Sends what waits in the outbox.", "When a mail was written, and when one is to be tried again."),
        new(typeof(CountJob), "Count", "Counts downloads, by day and by drop.", "When bytes were fetched."),
        new(typeof(PaymentsJob), "Follow up payments", "Looks at what the payment provider’s messages are about.", "When a message came."),
        new(typeof(MoneyJob), "Prices and credits", "Tells people of another price and gives back for a month that slipped.", "When you decide on one, and on its day."),
        new(typeof(TellAddressJob), "Tell a new address", "Tells the payment provider somebody’s new address.", "When somebody changed it."),
        new(typeof(WeekJob), "Write the week’s letter", "Writes you one mail with the three things in last week’s figures that say most.", "Each Monday at 08:00 of the shop’s time, or later in the week if the shelf was down."),
        new(typeof(KeepDeletionsJob), "Note deletions and stops", "Notes beside the backups who was deleted and who wants no mails, as numbers, so that a restored shelf deletes them again and leaves them alone.", "When somebody had themselves deleted, or stopped a mail."),
    ];

    private static string BackupWhen(BackupSettings backup) => backup.Directory.Length == 0
        ? "Never: no folder for backups is set. Whoever runs the server sets Shelf:Backup:Directory."
        : $"Each night at {backup.Hour:00}:00 UTC, into {backup.Directory}, and within the hour after a night was missed. Each is kept for {backup.KeepDays} days.";
}
