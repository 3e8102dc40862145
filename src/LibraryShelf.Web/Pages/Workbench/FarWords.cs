using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Comparing;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing;
using LibraryShelf.Core.Statistics;
using LibraryShelf.Core.Upkeep;
using LibraryShelf.Web.Pages.Shared;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>How far the workbench's long works are, in sentences.</summary>
internal static class FarWords
{
    /// <summary>The work of making what can be heard of a version.</summary>
    public const string Listening = "listening";

    /// <summary>The work of reading a version's archive through.</summary>
    public const string Reading = "reading";

    private static string Close => T("You may close this page.");

    private static string GoesOn => T("You may close this page; it goes on without it.");

    public static HowFar Unpacking(ReleaseStory story) => story.Unpacking is { Total: > 0 } at
        ? new("unpacking", T($"The zip is being unpacked: {at.Done} of {Plural.Of(at.Total, "file")}, {Sizes.Of(at.DoneBytes)} of {Sizes.Of(at.TotalBytes)}.") + " " + Close, at.DoneBytes, Math.Max(1, at.TotalBytes), T("Unpacked so far"))
        : new("unpacking", T("The zip has arrived and is being unpacked.") + " " + Close);

    public static HowFar Checking(Release release) => new(
        "checking", (release.CheckTotal > 0 ? T($"{release.CheckDone} of {Plural.Of(release.CheckTotal, "recording")} measured.") : T("The check begins.")) + " " + T("You may close this page; the sheet will be here."),
        release.CheckDone, Math.Max(1, release.CheckTotal), T("Recordings measured"));

    public static HowFar Comparing(string number, string from, Progress? far, bool isToBeSealed = false)
    {
        var words = T($"{number} is being held against {from}: recordings that differ are listened to side by side.") + " " + (isToBeSealed ? T("Then it is sealed.") + " " : "");
        return far is { Total: > 0 } at
            ? new("comparing", words + T($"{at.Done} of {Plural.Of(at.Total, "recording")} listened to.") + " " + GoesOn, at.Done, at.Total, T("Recordings listened to"))
            : new("comparing", words + GoesOn);
    }

    public static HowFar Music(string title, Progress? far) => far is { Total: > 0 } at
        ? new("music", T($"“{title}” is being made ready to be heard: {at.Done} of {Plural.Of(at.Total, "second")} of sound gone through. All of it is gone through more than once, and once more where it came out too loud.") + " " + Close, at.Done, at.Total, T("Seconds gone through"))
        : new("music", T($"“{title}” is being made ready to be heard.") + " " + Close);

    public static HowFar Backup(Progress far) => new(
        "backup", T($"A backup is being made: {Sizes.Of(far.DoneBytes)} of {Sizes.Of(far.TotalBytes)} copied or read again.") + " " + GoesOn, far.DoneBytes, far.TotalBytes, T("Copied or read again so far"));

    /// <summary>One archive of several.</summary>
    public static HowFar ReadingOf(ArchiveReading reading) => new(
        $"{Reading}-{reading.ArchiveId}", T($"{reading.FileName} is being read through for its checksum: {Sizes.Of(reading.Far.DoneBytes)} of {Sizes.Of(reading.Far.TotalBytes)}.") + " " + GoesOn,
        reading.Far.DoneBytes, Math.Max(1, reading.Far.TotalBytes), T($"Read so far of {reading.FileName}"));

    public static HowFar Counting(CountingFar far) => new("counting", far.What switch
    {
        CountingWhat.Events => T($"Downloads are being counted: {far.Done} of {Plural.Of(far.All, "piece")} that were fetched. Until then the newest are missing here."),
        CountingWhat.Days => T($"Days are being counted anew, the newest first: {far.Done} of {Plural.Of(far.All, "day")}. Until then the others show nothing."),
        _ => T($"Which version each has is being worked out anew: {far.Done} of {Plural.Of(far.All, "person")}. Until then the others are counted as before."),
    } + " " + T("Nothing is lost: the downloads are kept, and go on beside it. It can’t be stopped, or figures would stay wrong.") + " " + Close, far.Done, Math.Max(1, far.All), T("Counted so far"));

    public static HowFar Sealing(string number) => new("sealing", T($"Version {number} is being sealed. It may wait for its turn; the sealing itself takes seconds and can’t be stopped.") + " " + GoesOn);

    /// <summary>What goes on behind a sealed version, the first of it; null: nothing does.</summary>
    public static HowFar? Behind(ReleaseStory story, SealStanding standing) => standing switch
    {
        _ when story.IsPublishing => new("publishing", T($"Version {story.Release.Number} is being put on the shelf. That takes a moment and can’t be stopped; it can be withdrawn afterwards.") + " " + GoesOn),
        { Archive.Sha256: null, Reading: { TotalBytes: > 0 } at } => new(
            Reading, T($"Its archive is being read through for its checksum: {Sizes.Of(at.DoneBytes)} of {Sizes.Of(at.TotalBytes)}.") + " " + Close, at.DoneBytes, at.TotalBytes, T("Read so far")),
        { Archive.IsToBeRead: true } => new(Reading, T("Its archive will be read through for its checksum.") + " " + Close),
        { IsUnheard: true, Listening: { Total: > 0 } at } => new(
            Listening, T($"What can be heard of it on its page is being made: {at.Done} of {Plural.Of(at.Total, "sound")}.") + " " + Close, at.Done, at.Total, T("Sounds made")),
        { IsUnheard: true } => new(Listening, T("What can be heard of it on its page will be made in a moment.") + " " + Close),
        _ => null,
    };
}
