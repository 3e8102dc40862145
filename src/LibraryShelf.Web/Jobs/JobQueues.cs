namespace LibraryShelf.Web.Jobs;

/// <summary>
/// Two queues, so that what somebody waits for (a sign-in mail, a drop at its hour, an alert) never stands behind hours of checking and
/// unpacking. A job of the first says so by an attribute of its class; all others are work.
/// </summary>
internal static class JobQueues
{
    /// <summary>Brief jobs that others wait for.</summary>
    public const string Now = "now";

    /// <summary>Jobs that may take minutes or hours; the job server's own name for where a job goes that says nothing.</summary>
    public const string Work = "default";

    /// <summary>Workers that take nothing but <see cref="Now"/>. Two: mails to thousands keep one of them busy for long.</summary>
    public const int WorkersForNow = 2;

    /// <summary>Workers that take what there is, <see cref="Now"/> first.</summary>
    public static int WorkersForAll => Math.Clamp(Environment.ProcessorCount, 2, 4);
}
