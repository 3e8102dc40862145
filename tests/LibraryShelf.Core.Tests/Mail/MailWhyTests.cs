using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Core.Faults;
using LibraryShelf.Core.Letters;
using LibraryShelf.Core.Mail;
using LibraryShelf.Core.Membership;
using LibraryShelf.Core.Persons;
using LibraryShelf.Core.Publishing;

namespace LibraryShelf.Core.Tests.Mail;

/// <summary>
/// Which mails say themselves why they come is told by their words in English and by their cause in other languages: the two have to agree. Mails that are composed when they are
/// sent, or are written from rows of payments, are read whole in their own tests.
/// </summary>
public sealed class MailWhyTests
{
    private static readonly Shop Shop = new() { Name = "Saltmarsh Sound Room" };

    private static readonly Release Kettle = new() { Number = "1.2.0", Library = new Library { Title = "Mended Kettle", Slug = "mended-kettle" } };

    public static TheoryData<string, string> Mails => new()
    {
        { "sign-in", SignInMail.Write(Shop, null, "ABCDEFGH", 15).Text },
        { "sign-in", SignInMail.Write(Shop, "https://shelf.example/sign-in/x", "ABCDEFGH", 15).Text },
        { "address", AddressMail.AskOld(Shop, "page", "new@example.org", "mine").Text },
        { "address", AddressMail.AskNew(Shop, "page").Text },
        { "address", AddressMail.IsAnothers(Shop).Text },
        { "address", AddressMail.IsYoursAlready(Shop).Text },
        { "address", AddressMail.Changed(Shop, "old@example.org", "new@example.org").Text },
        { "delete-me", PersonMails.AreYouSure(Shop, null, "x").Text },
        { "deleted", PersonMails.Deleted(Shop, null).Text },
        { "merged", PersonMails.Merged(Shop, "old@example.org", "new@example.org").Text },
        { "alert", AlertMail.Write(new Alert { Words = "The disk is full." }, Shop, null).Text },
        { "following", FollowMail.Write(Kettle.Library, "link", isConfirmed: false, Shop).Text },
        { "following", FollowMail.Write(Kettle.Library, "link", isConfirmed: true, Shop).Text },
        { "welcome", WelcomeMail.Write(Shop, null, null).Text },
        { "welcome", WelcomeMail.Write(Shop, new DateOnly(2027, 1, 31), "https://shelf.example").Text },
        { "early", EarlyMail.Write(Kettle, Shop, null).Text },
        { "mended", FaultMail.Mended(new FaultReport { Words = "It hums.", Key = 60 }, "1.1.0", Kettle, Shop, null).Text },
        { "answered", FaultMail.Answered(new FaultReport { Words = "It hums.", Answer = "It is the kettle." }, Kettle, Shop).Text },
    };

    [Theory]
    [MemberData(nameof(Mails))]
    public void The_cause_knows_whether_the_words_say_why(string word, string text) =>
        Assert.Equal(text.Contains("You get this mail", StringComparison.Ordinal), MailKinds.SaysWhy($"{word}:1"));

    /// <summary>A word that no mail's cause begins with would be a slip of the pen.</summary>
    [Fact]
    public void Every_cause_with_a_why_is_written_somewhere() =>
        Assert.Subset(
            MailKinds.Words.Concat(["rehearsal", "claim", "joined", "price", "credit"]).ToHashSet(StringComparer.Ordinal), MailKinds.WithWhy.ToHashSet(StringComparer.Ordinal));
}
