using LibraryShelf.Core.Payments;

namespace LibraryShelf.Core.Letters.Runs;

/// <summary>
/// Which mails to many: that a drop is out, that a month slips, that a version is on the shelf (to who fetched an earlier one, and to followers), the letter to who is left behind;
/// that a version is withdrawn, that members will pay another price, that a month is credited.
/// </summary>
public enum MailRunKind { Drop, Slip, Version, Letter, Withdrawal, Price, Credit }

/// <summary>Mails to many about one thing, which go out one after the other.</summary>
/// <param name="Kind">Which.</param>
/// <param name="AboutId">Of a drop or a month that slips, the drop; of a price or a credit, that; of the others, the version.</param>
public sealed record MailRun(MailRunKind Kind, long AboutId)
{
    /// <summary>The maker may stop them. Not those that somebody has to get: of what they pay, or that what they have was withdrawn.</summary>
    public bool CanBeStopped => Kind is MailRunKind.Drop or MailRunKind.Slip or MailRunKind.Version or MailRunKind.Letter;

    /// <summary>What the causes of its mails begin with.</summary>
    internal IReadOnlyList<string> Begins => Kind switch
    {
        MailRunKind.Drop => [$"drop:{AboutId}:"],
        MailRunKind.Slip => [$"slip:{AboutId}:"],
        MailRunKind.Version => [$"version:{AboutId}:", $"follow:{AboutId}:"],
        MailRunKind.Withdrawal => [$"withdrawn:{AboutId}:"],
        MailRunKind.Price => [TellPriceChanges.CauseOf(AboutId, null)],
        MailRunKind.Credit => [$"credit:{AboutId}:"],
        _ => [BehindReceivers.CauseOf(AboutId, 0)[..^1]],
    };

    /// <summary>The run that a hold is of; null: of none that there is.</summary>
    internal static MailRun? Of(string begins) => begins.Split(':') is [var word, var about, ""] && long.TryParse(about, out var id)
        ? word switch
        {
            "drop" => new(MailRunKind.Drop, id),
            "slip" => new(MailRunKind.Slip, id),
            "version" => new(MailRunKind.Version, id),
            "behind" => new(MailRunKind.Letter, id),
            _ => null,
        } : null;
}

/// <summary>How many of a run's mails have gone.</summary>
/// <param name="Written">So far.</param>
/// <param name="Sent">The mail server took them.</param>
/// <param name="LeftOut">Not wanted, or not needed any more, when their turn came.</param>
/// <param name="GivenUp">Could not be sent.</param>
/// <param name="StoppedAt">The maker stopped the rest then; null: they go.</param>
/// <param name="IsBeingWritten">More of them are being written.</param>
public sealed record MailsGone(int Written, int Sent, int LeftOut, int GivenUp, DateTimeOffset? StoppedAt, bool IsBeingWritten)
{
    public int Waiting => Written - Sent - LeftOut - GivenUp;
}
