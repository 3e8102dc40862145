using LibraryShelf.Core.Persons;

namespace LibraryShelf.Web.Jobs;

/// <summary>Each day, and at start: removes what was kept of deleted people's payments once its time is over.</summary>
public sealed class ForgetJob(SweepDeleted sweep)
{
    public Task RunAsync(CancellationToken cancellationToken) => sweep.RunAsync(cancellationToken);
}
