using Hangfire.Common;

namespace LibraryShelf.Web.Jobs;

/// <summary>A job with what it is about, such as "CheckJob(19)": the same work, the same name.</summary>
internal static class JobName
{
    public static string Of(Job job) => $"{job.Type.Name}({string.Join(',', job.Args.Where(a => a is string or long))})";
}
