using LibraryShelf.Campaigns.Tests.Making;
using LibraryShelf.Campaigns.Tests.Running;
using LibraryShelf.Core.Data;

namespace LibraryShelf.Campaigns.Tests.Kills;

/// <summary>A step on trial. One point: make ready, begin, kill, hold, start again, see it go on.</summary>
internal abstract class KilledStep(TrialShelf shelf, string title)
{
    protected TrialShelf Shelf => shelf;

    protected Maker Maker { get; } = new(shelf);

    protected string Slug { get; private set; } = "";

    /// <summary>When the program of this point was killed, by <see cref="System.Diagnostics.Stopwatch"/>.</summary>
    public long KilledAt { get; set; }

    /// <summary>Once, before the first point.</summary>
    public virtual async Task SetUpAsync() => Slug = await Maker.AddLibraryAsync(title);

    /// <summary>What one point needs, while the program runs; nothing of the step yet.</summary>
    public abstract Task MakeReadyAsync(int point);

    /// <summary>Up to where the step's own work begins: the clock of the kill starts after it.</summary>
    public virtual Task OpenAsync() => Task.CompletedTask;

    /// <summary>How many times as late as others this point's kill may come; asked once it is ready.</summary>
    public virtual double Stretch => 1;

    /// <summary>Begins the step; the answer ends when there is nothing more to be done on the outside (it is awaited after the kill, too).</summary>
    public abstract Task BeginAsync();

    /// <summary>The step's end was reached, as the rows tell: how long a step takes is measured by this.</summary>
    public abstract Task<bool> IsOverAsync();

    /// <summary>The program is down. Is everything in the old state or the new? Throws when not.</summary>
    public abstract Task LookAsync(ShelfDb db);

    /// <summary>
    /// The program is up again: without a word from anybody the step goes on to its end, or, when the kill came before the wish was
    /// kept, the maker asks again.
    /// </summary>
    public abstract Task GoOnAsync();

    protected MadeFolder MakeFolder(string name, ulong seed, params int[] sizes) =>
        MadeFolder.Make(Path.Combine(shelf.Scratch, name), seed, sizes);

    protected async Task<T> AskAsync<T>(Func<ShelfDb, Task<T>> question)
    {
        await using var db = shelf.Open();
        return await question(db);
    }
}
