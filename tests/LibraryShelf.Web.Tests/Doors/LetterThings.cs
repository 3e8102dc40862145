using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Doors;

/// <summary>What the doors of mails are knocked at with: each time a person, a follower or a mailbox of their own.</summary>
internal sealed class LetterThings(DoorWorld world)
{
    private const string Altered = "altered";

    public static bool Knows(DoorRow row) =>
        row.Path is "/workbench/outbox?handler=Lift" || row.Path.EndsWith("?handler=TryAgain", StringComparison.Ordinal) || (row.Path == "/mine/letters" && !row.IsLook)
        || row.Path.EndsWith("/follow", StringComparison.Ordinal) || row.Path.Contains("{key}", StringComparison.Ordinal);

    public async Task<Knock> ForAsync(DoorRow row) => row.Path.Split('?')[0] switch
    {
        "/workbench/outbox" when row.Path.EndsWith("TryAgain", StringComparison.Ordinal) => new(row.Method, row.Path) { Fields = [new("id", $"{await GivenUpAsync()}")] },
        "/workbench/members/{id:long}" => Fill(row, "{id:long}", $"{(await world.Host.PersonAsync($"stranger-{world.Next()}@post.example")).Id}", KeyValuePair.Create("mail", $"{await GivenUpAsync()}")),
        "/workbench/outbox" => new(row.Method, row.Path) { Fields = [new("id", $"{await SuppressionAsync()}")] },
        "/mine/letters" => new(row.Method, row.Path) { Fields = [new("wanted", "drop")] },
        "/boxes/{slug}/follow" => Fill(row, "{slug}", world.Free.Slug, KeyValuePair.Create("Email", $"follower-{world.Next()}@post.example")),
        "/follow/{key}" => Fill(row, "{key}", row.Case.Contains(Altered, StringComparison.Ordinal) ? Altered : await FollowerAsync()),
        _ => Fill(row, "{key}", row.Case.Contains(Altered, StringComparison.Ordinal) ? Altered : await PersonKeyAsync(isRefusing: row.Path.EndsWith("Again", StringComparison.Ordinal))) is var knock
            ? knock with { Url = knock.Url.Replace("{kind}", "drop", StringComparison.Ordinal) }
            : throw new InvalidOperationException(),
    };

    private static Knock Fill(DoorRow row, string name, string value, params KeyValuePair<string, string>[] fields) =>
        new(row.Method, row.Path.Replace(name, value, StringComparison.Ordinal)) { Fields = row.IsLook ? null : fields };

    private async Task<string> PersonKeyAsync(bool isRefusing)
    {
        var (person, key) = (await world.Host.PersonAsync($"stranger-{world.Next()}@post.example"), Key());
        await world.Host.WithDbAsync(async db =>
        {
            await db.Users.Where(p => p.Id == person.Id).ExecuteUpdateAsync(s => s.SetProperty(p => p.LetterKey, key));
            if (isRefusing)
                db.MailRefusals.Add(new MailRefusal { PersonId = person.Id, Kind = MailKind.Drop });
            await db.SaveChangesAsync();
        });
        return key;
    }

    private async Task<string> FollowerAsync()
    {
        var (key, email) = (Key(), $"follower-{world.Next()}@post.example");
        await world.Host.WithDbAsync(async db =>
        {
            var library = await db.Libraries.Where(l => l.Slug == world.Free.Slug).Select(l => l.Id).SingleAsync();
            db.Followers.Add(new Follower { LibraryId = library, Email = email, NormalizedEmail = EmailAddress.Normalize(email), Key = key, AskedAt = DateTimeOffset.UnixEpoch });
            await db.SaveChangesAsync();
        });
        return key;
    }

    private async Task<long> GivenUpAsync()
    {
        var row = new OutboxMail { Cause = $"welcome:knock-{world.Next()}", To = "away@post.example", Subject = "S", Text = "T", CreatedAt = DateTimeOffset.UnixEpoch, GaveUpAt = DateTimeOffset.UnixEpoch, Attempts = 1 };
        await world.Host.WithDbAsync(async db =>
        {
            db.Outbox.Add(row);
            await db.SaveChangesAsync();
        });
        return row.Id;
    }

    private async Task<long> SuppressionAsync()
    {
        var row = new MailSuppression { NormalizedEmail = $"CLOSED-{world.Next()}@POST.EXAMPLE", Because = "550 5.1.1", At = DateTimeOffset.UnixEpoch };
        await world.Host.WithDbAsync(async db =>
        {
            db.MailSuppressions.Add(row);
            await db.SaveChangesAsync();
        });
        return row.Id;
    }

    /// <summary>22 characters, as 128 bits in base64url are.</summary>
    private string Key() => $"{world.Next():D22}";
}
