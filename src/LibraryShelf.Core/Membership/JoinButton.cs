using LibraryShelf.Core.Shared;

namespace LibraryShelf.Core.Membership;

/// <summary>The words on the button that leads to the payment page: what the page shows is what is kept with the joining.</summary>
public static class JoinButton
{
    public static string Usual => T("Go on to pay");
    private static string Practice => T("Practise paying");

    /// <param name="shopWords">The shop's setting; empty: <see cref="Usual"/>.</param>
    /// <param name="plan">The plan chosen.</param>
    /// <param name="isOnly">It is the only one, so that the button can say its sum.</param>
    /// <param name="isPractice">No money moves, and the button says so.</param>
    public static string Words(string shopWords, Plan plan, bool isOnly, bool isPractice)
    {
        var words = isPractice ? Practice : shopWords.Length == 0 ? Usual : shopWords;
        return isOnly ? $"{words} {Money.Of(plan.Minor, plan.Currency)}" : words;
    }
}
