using LibraryShelf.Core.Downloads;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Tests.Downloads;

/// <summary>Altered links by the hundred thousand, with genuine ones between to show that the door is not simply shut.</summary>
public sealed class LinkCampaignTests
{
    private const int Seed = 20261125;
    private const string AwkwardName = "Flügel & 鍵+Tin (100%) 1.0.0.zip";

    private static async Task<(StockedShelf Shelf, List<string> Links)> StockAsync()
    {
        var shelf = await StockedShelf.MakeAsync();
        await shelf.WithAsync(db => db.Archives.ExecuteUpdateAsync(s => s.SetProperty(a => a.FileName, AwkwardName)));
        long?[] people = [null, await shelf.PersonAsync("wren@example.org"), await shelf.PersonAsync("robin@example.org")];
        var links = new List<string>();
        for (var key = 0; key < 3; key++)
        {
            foreach (var person in people) links.Add((await shelf.MadeAsync(person)).Path);
            await shelf.WithAsync(db => new RotateLinkKey(db, shelf.Temp.Clock).RunAsync(default));
            // So that the times of one link are not those of another.
            shelf.Temp.Clock.Advance(TimeSpan.FromSeconds(37));
        }
        return (shelf, links);
    }

    [Fact]
    public async Task Of_a_hundred_thousand_altered_links_none_is_accepted()
    {
        const int count = 100_000;
        var (shelf, links) = await StockAsync();
        await using var disposal = shelf;
        await using var db = shelf.Temp.Open();
        var open = shelf.Opener(db);
        var alterations = new LinkAlterations(links, Seed);
        var troubles = new Dictionary<LinkTrouble, int>();
        for (var i = 0; i < count; i++)
        {
            var (kind, text) = alterations.Next();
            var outcome = await open.RunAsync(text, default);
            Assert.True(outcome is OpenLinkOutcome.Refused, $"Accepted, number {i} of seed {Seed}, altered by “{kind}”:\n{text}");
            var trouble = ((OpenLinkOutcome.Refused)outcome).Trouble;
            troubles[trouble] = troubles.GetValueOrDefault(trouble) + 1;
            if (i % 1_000 == 0) Assert.IsType<OpenLinkOutcome.Open>(await open.RunAsync(links[i / 1_000 % links.Count], default));
        }
        // All three doors were knocked at: the writing, the row, and (an Altered with a known row) the signature.
        Assert.True(troubles[LinkTrouble.Unknown] > count / 100, "Too few reached the table.");
        Assert.Equal([LinkTrouble.Altered, LinkTrouble.Unknown], troubles.Keys.Order());
        Assert.Equal(count, troubles.Values.Sum());
    }

    [Fact]
    public async Task The_alterations_would_find_a_signature_that_is_not_looked_at()
    {
        // The same alterations against a reader that checks the writing alone: each of these kinds gets through there.
        var (shelf, links) = await StockAsync();
        await using var disposal = shelf;
        var alterations = new LinkAlterations(links, Seed);
        var through = new HashSet<string>();
        for (var i = 0; i < 200 * alterations.Kinds; i++)
        {
            var (kind, text) = alterations.Next();
            if (LinkText.Read(text) is not null) through.Add(kind);
        }
        Assert.Superset(new HashSet<string> { "one bit", "case of one letter", "other times", "another key", "a piece of another link", "another signature", "a number written otherwise" }, through);
    }
}
