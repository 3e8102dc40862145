using Hangfire.Common;

namespace LibraryShelf.Web.Jobs;

/// <param name="Type">Its class, with one RunAsync.</param>
/// <param name="Title">What the maker calls it.</param>
/// <param name="What">What it does, for the maker.</param>
/// <param name="When">When it runs, for the maker.</param>
internal sealed record ListedJob(Type Type, string Title, string What, string When)
{
    /// <summary>Null: it is woken by what happened, not by the clock.</summary>
    public Recurrence? Recurs { get; init; }

    /// <summary>The key of its last run.</summary>
    public string Name => Type.Name;

    /// <summary>One that works at one thing needs to be told which; the sweep tells it.</summary>
    public bool CanRunNow => Method.GetParameters().Length == 1;

    private System.Reflection.MethodInfo Method => Type.GetMethod("RunAsync")!;

    /// <summary>Of one that can run now.</summary>
    public Job Make() => new(Type, Method, CancellationToken.None);
}

/// <param name="Id">In the queue.</param>
/// <param name="Cron">Five fields, UTC.</param>
/// <param name="IsAtStart">When the program starts, too.</param>
internal sealed record Recurrence(string Id, string Cron, bool IsAtStart = true);
