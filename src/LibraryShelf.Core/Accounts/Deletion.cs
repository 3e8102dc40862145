namespace LibraryShelf.Core.Accounts;

/// <summary>
/// Somebody had themselves deleted: their number, and no more; a second row for each name under which they paid, by its hash. A shelf restored from an
/// older backup knows by them whom to delete again, and whom the payment provider's memory does not bring back.
/// </summary>
public sealed class Deletion
{
    public long Id { get; set; }
    public long PersonId { get; set; }
    public DateTimeOffset At { get; set; }
    /// <summary><see cref="PayerOf"/> of one of their names at the payment provider; null: this row is about the person alone.</summary>
    public string? Payer { get; set; }

    /// <summary>SHA-256 of the provider's name for who pays, lower-case hex. The name is random: nobody gets from the hash to it, nor from it to a person but there.</summary>
    internal static string PayerOf(string customerId) => Secrets.Hash(customerId);
}
