using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Setup;
using Microsoft.Extensions.Configuration;

namespace LibraryShelf.Web.Tests.Setup;

public sealed class SettingsCheckTests
{
    [Fact]
    public void Settings_left_as_they_are_are_of_use() => Assert.True(new SettingsCheck().Validate(null, new ShelfSettings()).Succeeded);

    /// <summary>Every bound of docs/operating.md stands in an attribute or a class's own check; these are one of each kind, at both ends.</summary>
    [Fact]
    public void Each_wrong_one_is_said_by_its_full_name()
    {
        var settings = new ShelfSettings
        {
            DataDirectory = "",
            Links = new() { StartMinutes = LinkSettings.MaxStartMinutes + 1, ResumeHours = LinkSettings.MaxResumeHours },
            Intake = new() { MaxReleaseBytes = 1023, MaxUploadBytes = 1024 },
            Mail = new() { SmtpSecurity = "ssl", DkimKeyFile = "key.pem" },
            Bandwidth = new() { LeastShare = 1 },
            Privacy = new() { KeepEventsMonths = 0 },
        };
        Assert.Equal(
        [
            "Shelf:DataDirectory is empty, and it can’t be.",
            "Shelf:Links:StartMinutes is 1441. It is from 1 to 1440.",
            "Shelf:Bandwidth:LeastShare is a part of Shelf:Bandwidth:TotalBytesPerSecond, so it can’t be larger.",
            "Shelf:Intake:MaxReleaseBytes is 1023. It is 1024 or more.",
            "Shelf:Mail:SmtpSecurity is “ssl”. It is one of these: auto, starttls, tls, none.",
            "Shelf:Privacy:KeepEventsMonths is 0. It is from 1 to 1200.",
        ], new SettingsCheck().Validate(null, settings).Failures);
    }

    [Fact]
    public void What_depends_on_several_is_asked_when_each_is_fine() =>
        Assert.StartsWith("Shelf:Mail:DkimKeyFile needs ", Assert.Single(new SettingsCheck().Validate(null, new ShelfSettings { Mail = new() { DkimKeyFile = "key.pem" } }).Failures!), StringComparison.Ordinal);

    [Fact]
    public void A_text_where_a_number_or_a_switch_stands_is_said()
    {
        var settings = new ConfigurationBuilder().AddInMemoryCollection(new Dictionary<string, string?>
        {
            ["Shelf:Links:ResumeHours"] = "24", ["Shelf:Links:MostMade"] = "", ["Shelf:Disk:ReserveBytes"] = "1 GB", ["Shelf:Payments:Practice"] = "yes",
            ["Shelf:Mail:SmtpPassword"] = "tell-nobody-4711",
        }).Build();
        Assert.Equal(
            ["Shelf:Disk:ReserveBytes is “1 GB”. It is a whole number.", "Shelf:Links:MostMade is “”. It is a whole number.", "Shelf:Payments:Practice is “yes”. It is true or false, nothing else."],
            SettingsCheck.Unread(settings.GetSection(ShelfSettings.Section), typeof(ShelfSettings)).Order(StringComparer.Ordinal));
    }
}
