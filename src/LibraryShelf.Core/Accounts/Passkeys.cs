using System.Buffers.Text;
using System.Text;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Shared;
using Microsoft.AspNetCore.Identity;

namespace LibraryShelf.Core.Accounts;

/// <summary>A passkey as its owner sees it. <paramref name="Id"/>: of the credential, base64url; no secret.</summary>
public sealed record Passkey(string Id, string Name, DateTimeOffset CreatedAt);

/// <summary>The passkeys of one person, oldest first. What is stored of each is its public half.</summary>
public sealed class ReadPasskeys(UserManager<Person> people)
{
    public async Task<IReadOnlyList<Passkey>> RunAsync(long personId, CancellationToken cancellationToken)
    {
        cancellationToken.ThrowIfCancellationRequested();
        var person = await PasskeyOwners.FindAsync(people, personId);
        return person is null ? [] : [.. (await people.GetPasskeysAsync(person)).OrderBy(k => k.CreatedAt)
            .Select(k => new Passkey(Base64Url.EncodeToString(k.CredentialId), k.Name ?? "", k.CreatedAt))];
    }
}

public enum KeepPasskeyOutcome
{
    Kept,
    /// <summary>There are <see cref="KeepPasskey.Most"/> already; nothing was written.</summary>
    TooMany,
}

/// <summary>Keeps a passkey that the browser has just proved to hold.</summary>
public sealed class KeepPasskey(UserManager<Person> people)
{
    /// <summary>For one person: enough for every device, and few enough to look through.</summary>
    public const int Most = 20;

    /// <summary>Characters.</summary>
    public const int LongestName = 80;

    /// <param name="proved">What the platform made of the browser's answer.</param>
    /// <param name="name">For the maker's own memory; an empty one becomes "Unnamed".</param>
    public async Task<KeepPasskeyOutcome> RunAsync(long personId, UserPasskeyInfo proved, string? name, CancellationToken cancellationToken)
    {
        cancellationToken.ThrowIfCancellationRequested();
        var person = await PasskeyOwners.FindAsync(people, personId)
            ?? throw new InvalidOperationException("A signed-in person is not in the database.");
        if ((await people.GetPasskeysAsync(person)).Count >= Most)
            return KeepPasskeyOutcome.TooMany;
        var said = string.IsNullOrWhiteSpace(name) ? T("Unnamed") : name.Trim();
        proved.Name = ShortText.Of(said, LongestName);
        var kept = await people.AddOrUpdatePasskeyAsync(person, proved);
        return kept.Succeeded ? KeepPasskeyOutcome.Kept : throw new InvalidOperationException(string.Join(' ', kept.Errors.Select(e => e.Description)));
    }
}

/// <summary>Forgets a passkey. The device it was on may be lost, so the person's sign-ins elsewhere end too.</summary>
public sealed class RemovePasskey(UserManager<Person> people, ShelfDb db, TimeProvider clock)
{
    /// <returns>The person with the new stamp; null when there is no such passkey of theirs, and nothing was written.</returns>
    public async Task<Person?> RunAsync(long personId, string? passkeyId, CancellationToken cancellationToken)
    {
        cancellationToken.ThrowIfCancellationRequested();
        if (passkeyId is null || !Base64Url.IsValid(passkeyId) || await PasskeyOwners.FindAsync(people, personId) is not { } person)
            return null;
        var id = Base64Url.DecodeFromUtf8(Encoding.ASCII.GetBytes(passkeyId));
        if (await people.GetPasskeyAsync(person, id) is null)
            return null;
        // All or none: with the passkey gone alone, pressing again would find nothing to remove, and end no sign-in.
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        await people.RemovePasskeyAsync(person, id);
        await People.EndDevicesAsync(db, personId, clock.GetUtcNow(), cancellationToken);
        await people.UpdateSecurityStampAsync(person);
        await transaction.CommitAsync(cancellationToken);
        return person;
    }
}

file static class PasskeyOwners
{
    public static Task<Person?> FindAsync(UserManager<Person> people, long personId) =>
        people.FindByIdAsync(personId.ToString(System.Globalization.CultureInfo.InvariantCulture));
}
