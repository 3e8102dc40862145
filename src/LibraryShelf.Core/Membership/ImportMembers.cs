using LibraryShelf.Core.Accounts;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Mail;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Core.Membership;

/// <param name="File">The list.</param>
/// <param name="ShownHash">Of the list that the first press showed.</param>
/// <param name="Source">Where it comes from.</param>
/// <param name="Consent">What its people agreed to.</param>
/// <param name="TheyAgreed">The maker says that they agreed to be written to by this shelf.</param>
public sealed record ImportWish(ReadOnlyMemory<byte> File, string ShownHash, string? Source, string? Consent, bool TheyAgreed);

public abstract record ImportOutcome
{
    private ImportOutcome() { }

    /// <summary>Every line that was fine stands in the database, with its mail where it brought something new.</summary>
    /// <param name="New">People the shelf did not know.</param>
    /// <param name="Memberships">That were given.</param>
    /// <param name="Nothing">Lines that brought nothing new, taken by an earlier press among them.</param>
    /// <param name="Left">Lines with a fault.</param>
    public sealed record Brought(int New, int Memberships, int Nothing, int Left) : ImportOutcome;

    /// <summary>This very list was brought whole before; nothing was written.</summary>
    public sealed record BroughtBefore : ImportOutcome;

    /// <summary>Source or consent is missing or too long, or the maker does not say that they agreed; nothing was written.</summary>
    public sealed record NotSaid : ImportOutcome;

    /// <summary>It is not the list that was shown, or no list; nothing was written.</summary>
    public sealed record NotTheListShown : ImportOutcome;
}

/// <summary>
/// The second press. People are brought in batches, each with what is theirs and the mail in one transaction; broken off, the same press goes on where
/// it was, and doubles nothing.
/// </summary>
public sealed class ImportMembers(ShelfDb db, TimeProvider clock)
{
    public const int LongestSource = 200;
    public const int LongestConsent = 1_000;

    /// <param name="wish">What was pressed.</param>
    /// <param name="shelfAddress">For the mails, without a slash at its end; null: they name no address.</param>
    /// <param name="cancellationToken">Ends it after a batch.</param>
    public async Task<ImportOutcome> RunAsync(ImportWish wish, string? shelfAddress, CancellationToken cancellationToken)
    {
        var (source, consent) = (wish.Source?.Trim() ?? "", wish.Consent?.Trim() ?? "");
        if (!wish.TheyAgreed || source.Length is 0 or > LongestSource || consent.Length is 0 or > LongestConsent)
            return new ImportOutcome.NotSaid();
        var hash = ReadImport.HashOf(wish.File.Span);
        var text = ImportText.Read(wish.File.Span);
        if (hash != wish.ShownHash || text.Trouble is not null)
            return new ImportOutcome.NotTheListShown();
        var import = await FreshEyes.LookAsync(db, () => FindOrAddAsync(source, consent, hash, cancellationToken), FreshEyes.Never<MemberImport>);
        if (import.FinishedAt is not null)
            return new ImportOutcome.BroughtBefore();
        var judge = await ImportJudge.OpenAsync(db, import, import.ImportedAt, cancellationToken);
        var brought = new ImportOutcome.Brought(0, 0, 0, 0);
        foreach (var some in text.Lines.Chunk(ImportJudge.AtOnce))
        {
            cancellationToken.ThrowIfCancellationRequested();
            var lines = await FreshEyes.LookAsync(db, () => BringAsync(import, judge, some, shelfAddress, cancellationToken), FreshEyes.Never<List<ImportLine>>);
            db.ChangeTracker.Clear();
            brought = new(
                brought.New + lines.Count(l => l.IsNew), brought.Memberships + lines.Count(l => l.Gets is not null),
                brought.Nothing + lines.Count(l => l.Fault is null && !l.IsNews), brought.Left + lines.Count(l => l.Fault is not null));
        }
        var now = clock.GetUtcNow();
        await db.MemberImports.Where(i => i.Id == import.Id && i.FinishedAt == null).ExecuteUpdateAsync(s => s.SetProperty(i => i.FinishedAt, now), cancellationToken);
        return brought;
    }

    /// <summary>What was said of the list the first time stays: it is what its people are told.</summary>
    private async Task<MemberImport> FindOrAddAsync(string source, string consent, string hash, CancellationToken cancellationToken)
    {
        if (await db.MemberImports.AsNoTracking().SingleOrDefaultAsync(i => i.FileHash == hash, cancellationToken) is { } before)
            return before;
        var import = new MemberImport { Source = source, Consent = consent, FileHash = hash, ImportedAt = clock.GetUtcNow() };
        db.MemberImports.Add(import);
        await db.SaveChangesAsync(cancellationToken);
        return import;
    }

    private async Task<List<ImportLine>> BringAsync(
        MemberImport import, ImportJudge judge, IReadOnlyList<ImportTextLine> lines, string? shelfAddress, CancellationToken cancellationToken)
    {
        var now = clock.GetUtcNow();
        await using var transaction = await db.Database.BeginTransactionAsync(cancellationToken);
        var judged = await judge.JudgeAsync(lines, cancellationToken);
        var rows = judged.FindAll(j => j.Line is { Fault: null, IsTaken: false }).ConvertAll(j => (j.Text, j.Line, Person: j.Person ?? People.New(j.Text.Email, now)));
        db.Users.AddRange(rows.Where(r => r.Line.IsNew).Select(r => r.Person));
        await db.SaveChangesAsync(cancellationToken);
        var grants = rows.Where(r => r.Line.Gets is not null).ToDictionary(r => r.Person.Id, r => GrantOf(r.Text, r.Line.Gets!, r.Person, import));
        db.MembershipGrants.AddRange(grants.Values);
        await db.SaveChangesAsync(cancellationToken);
        db.ImportedMembers.AddRange(rows.Select(r => new ImportedMember
        {
            ImportId = import.Id, PersonId = r.Person.Id, Consent = r.Text.Consent, GrantId = grants.GetValueOrDefault(r.Person.Id)?.Id,
            // The place of one who has signed in before is claimed already.
            ClaimedAt = r.Person.EmailConfirmed ? now : null,
        }));
        var desk = await MailDesk.OpenAsync(db, shelfAddress, now, cancellationToken);
        await desk.WriteAsync(
            [.. rows.Where(r => r.Line.IsNews).Select(r => ClaimMail.Write(desk, r.Person.Email ?? r.Text.Email, r.Person.Id, import, r.Text.Consent, r.Line.Gets))],
            cancellationToken);
        await db.SaveChangesAsync(cancellationToken);
        await transaction.CommitAsync(cancellationToken);
        return judged.ConvertAll(j => j.Line);
    }

    private static MembershipGrant GrantOf(ImportTextLine text, MemberTime gets, Person person, MemberImport import) => new()
    {
        PersonId = person.Id, From = gets.From, Until = gets.Until, Note = text.Note.Length > 0 ? text.Note : T($"From {import.Source}"),
    };
}
