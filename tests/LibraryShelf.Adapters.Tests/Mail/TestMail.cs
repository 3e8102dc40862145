using LibraryShelf.Core.Mail;

namespace LibraryShelf.Adapters.Tests.Mail;

internal static class TestMail
{
    public static MailToSend To(string address) => new(
        "sign-in.42.1795608000000@tinworks.example", "Tinworks · Büro", "shelf@tinworks.example", address,
        "Sign in to Tinworks – now", "Grüße.\n.\nA line of one dot stays.\nhttps://shelf.example/sign-in/abc_-\n",
        new DateTimeOffset(2026, 11, 25, 12, 0, 0, TimeSpan.Zero));
}
