using System.Globalization;
using System.Text;
using LibraryShelf.Core.Membership;
using LibraryShelf.Web.Pages.Words;
using NodaTime;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>People as a file, RFC 4180. What its columns mean: docs/membership.md; the first, with note, are those that a list brought here has.</summary>
internal static class MembersCsv
{
    private const string Header = "email,member_from,member_until,note,state,given_until,plan_minor,plan_currency,plan_months,next_payment,provider_id,known_since,has_signed_in\r\n";

    public static string Of(IReadOnlyList<MemberLine> lines, DateTimeZone zone, DateTimeOffset now)
    {
        var text = new StringBuilder(Header, Header.Length + (lines.Count * 120));
        foreach (var line in lines)
        {
            text.Append(CultureInfo.InvariantCulture, $"{Csv.Text(line.Email)},{From(line)},{Until(line)},{Csv.Text(line.ByHand?.Note ?? "")},{State(line.State)},");
            text.Append(CultureInfo.InvariantCulture, $"{GivenUntil(line)},{line.Plan?.Minor},{line.Plan?.Currency},{line.Plan?.Months},{NextPayment(line)},");
            text.Append(CultureInfo.InvariantCulture, $"{Csv.Text(line.Paid?.ProviderId ?? "")},{Dates.Machine(line.KnownSince, zone)},{YesOrNo(line.HasSignedIn)}\r\n");
        }
        return text.ToString();

        string From(MemberLine line) => line.Stretch is { } time ? Dates.Machine(time.From, zone) : "";
        string Until(MemberLine line) => line.Stretch?.Until is { } until ? Last(until) : "";
        string GivenUntil(MemberLine line) => line.ByHand is not { } grant || !grant.IsActiveAt(now) ? "" : grant.Until is { } until ? Last(until) : "no end";
        string NextPayment(MemberLine line) => line is { State: MemberState.Paying, Paid.PaidThrough: { } next } ? Dates.Machine(next, zone) : "";
        string Last(DateTimeOffset until) => Dates.Machine(until.AddMilliseconds(-1), zone);
    }

    private static string YesOrNo(bool isSo) => isSo ? "yes" : "no";

    /// <summary>A word of its own for programs: it stays when the pages' words change.</summary>
    private static string State(MemberState state) => state switch
    {
        MemberState.Paying => "paying",
        MemberState.Grace => "grace",
        MemberState.Leaving => "leaving",
        MemberState.Paused => "paused",
        MemberState.ByHand => "by_hand",
        MemberState.Left => "left",
        _ => "none",
    };
}
