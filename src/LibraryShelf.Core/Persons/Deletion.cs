namespace LibraryShelf.Core.Persons;

/// <summary>
/// Somebody had themselves deleted: their number, and no more. A shelf restored from an older backup knows by it whom to delete again.
/// </summary>
public sealed class Deletion
{
    public long Id { get; set; }
    public long PersonId { get; set; }
    public DateTimeOffset At { get; set; }
}
