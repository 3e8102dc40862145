using NodaTime;

namespace LibraryShelf.Core.Statistics.Members;

/// <summary>One month of members, in people.</summary>
/// <param name="Month">Of the shop's calendar.</param>
/// <param name="IsOver">False: the present one, so far.</param>
/// <param name="AtStart">Members from before its first instant and beyond it; <paramref name="GivenAtStart"/> of them by the maker's hand alone.</param>
/// <param name="Joined">For the first time; <paramref name="JoinedGiven"/> of them by the maker's hand.</param>
/// <param name="Left">Also those who joined in the same month; <paramref name="LeftGiven"/> of them had it by the maker's hand.</param>
/// <param name="Failed">Renewals that failed; null: it was not written down yet.</param>
/// <param name="Recovered">Of these, paid by now.</param>
/// <param name="Income">By currency, at its end or now; empty: not known.</param>
public sealed record MembersMonth(
    YearMonth Month, bool IsOver, int AtStart, int GivenAtStart, int Joined, int JoinedGiven, int Returned, int Left, int LeftGiven,
    int? Failed, int? Recovered, IReadOnlyList<MonthlyIncome> Income)
{
    public int AtEnd => AtStart + Joined + Returned - Left;

    /// <summary>Who left, as a share of the members at the start, 0 to 1 and beyond; null: there were none.</summary>
    public double? Churn => AtStart == 0 ? null : (double)Left / AtStart;
}

/// <param name="Month">In which they joined for the first time.</param>
/// <param name="Members">The n-th: how many of them are members n months later. As far as that is known of all of them; the first are all.</param>
public sealed record StayRow(YearMonth Month, IReadOnlyList<int> Members)
{
    public int Joined => Members[0];

    /// <summary>In a hundred, rounded.</summary>
    public int InAHundred(int n) => Share.InAHundred(Members[n], Joined);
}

/// <param name="Month">In which they finished their first free download.</param>
/// <param name="People">Signed in, and never members before.</param>
/// <param name="Joined">Within 7, 30 and 90 days; so far, where those days are not over for all of them.</param>
/// <param name="AreOver">Whether they are.</param>
public sealed record FreeRow(YearMonth Month, int People, IReadOnlyList<int> Joined, IReadOnlyList<bool> AreOver);

/// <param name="Months">Whole months from joining to leaving.</param>
public sealed record LeftAfterLine(int Months, int People);

/// <summary>Shares as people read them.</summary>
public static class Share
{
    /// <summary>Half is rounded up; 0 of nobody.</summary>
    public static int InAHundred(int part, int whole) => whole == 0 ? 0 : (int)Math.Round(100m * part / whole, MidpointRounding.AwayFromZero);
}

/// <summary>What is known of members from <paramref name="First"/> to <paramref name="Last"/>, months of <paramref name="TimeZone"/>, both included.</summary>
/// <param name="Earliest">Of anything known: nothing lies before.</param>
/// <param name="Present">The month that is not over.</param>
/// <param name="Paying">Members at this moment who pay.</param>
/// <param name="Given">Members at this moment by the maker's hand alone.</param>
/// <param name="WithoutPrice">Of who pays now, those whose price the shelf does not know.</param>
/// <param name="KnownSince">The first month of which income and failed renewals are known; null: none is yet.</param>
public sealed record MemberNumbers(
    YearMonth First, YearMonth Last, YearMonth Earliest, YearMonth Present, string TimeZone, int Paying, int Given, int WithoutPrice,
    YearMonth? KnownSince, IReadOnlyList<MonthlyIncome> Income,
    IReadOnlyList<MembersMonth> Months, IReadOnlyList<StayRow> Stays, IReadOnlyList<FreeRow> Free, IReadOnlyList<LeftAfterLine> LeftAfter)
{
    public int Members => Paying + Given;

    public int Leavers => LeftAfter.Sum(l => l.People);

    /// <summary>Of all who joined in these months and of whom it is known, how many in a hundred are members so many months later; null: it is known of none.</summary>
    public int? StillAfter(int months)
    {
        var known = Stays.Where(r => r.Members.Count > months).ToList();
        return known.Count == 0 ? null : Share.InAHundred(known.Sum(r => r.Members[months]), known.Sum(r => r.Joined));
    }

    /// <summary>Of all whose first free download was in months of which that is known, how many in a hundred joined within 7, 30 or 90 days; null: it is known of none.</summary>
    /// <param name="which">0, 1 or 2.</param>
    public int? JoinedWithin(int which)
    {
        var known = Free.Where(r => r.AreOver[which]).ToList();
        return known.Count == 0 ? null : Share.InAHundred(known.Sum(r => r.Joined[which]), known.Sum(r => r.People));
    }

    /// <summary>Half of those who ended their first stay did so by then, months; between two the middle of both. Null: nobody did.</summary>
    public double? MedianMonths
    {
        get
        {
            var all = LeftAfter.SelectMany(l => Enumerable.Repeat(l.Months, l.People)).Order().ToList();
            return all.Count == 0 ? null : (all[(all.Count - 1) / 2] + all[all.Count / 2]) / 2.0;
        }
    }
}
