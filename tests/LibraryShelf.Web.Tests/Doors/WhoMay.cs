namespace LibraryShelf.Web.Tests.Doors;

/// <summary>
/// Who may do what, on the whole site. One row for each endpoint and, in brackets, each case that decides differently. Who is not
/// named may not: the answer is a refusal or leads to the right sign-in, and nothing is changed. "everyone" and "signed in" include
/// whoever is not named beside them; a token sent to a page counts as nobody, so it may there what a visitor may.
/// </summary>
internal static class WhoMay
{
    public const string Table = """
        GET     /                                                  | everyone
        GET     /boxes/{slug} (on the shelf)                       | everyone
        GET     /boxes/{slug} (given early)                        | left member
        POST    /boxes/{slug} (free)                               | everyone
        POST    /boxes/{slug} (for members)                        | member, maker
        POST    /boxes/{slug} (sealed, not published)              | maker
        POST    /boxes/{slug} (a draft)                            | nobody
        POST    /boxes/{slug} (given early)                        | left member, maker
        GET     /boxes/{slug}/something-wrong                      | everyone
        POST    /boxes/{slug}/something-wrong (free)               | everyone
        POST    /boxes/{slug}/something-wrong (for members)        | member, maker
        POST    /boxes/{slug}/something-wrong (given early)        | left member, maker
        GET     /boxes/{slug}/{number}/licence (on the shelf)      | everyone
        GET     /boxes/{slug}/{number}/licence (given early)       | left member, maker
        GET     /boxes/{slug}/{number}/keyprint.svg (on the shelf) | everyone
        GET     /boxes/{slug}/{number}/keyprint.svg (given early)  | left member, maker
        GET     /boxes/{slug}/{number}/mark.svg (on the shelf)     | everyone
        GET     /boxes/{slug}/{number}/mark.svg (given early)      | left member, maker
        GET     /boxes/{slug}/{number}/spine.svg (on the shelf)    | everyone
        GET     /boxes/{slug}/{number}/spine.svg (given early)     | left member, maker
        GET     /boxes/{slug}/{number}/pile.svg (on the shelf)     | everyone
        GET     /boxes/{slug}/{number}/pile.svg (given early)      | left member, maker
        GET     /boxes/{slug}/{number}/listen/{path} (on the shelf) | everyone
        GET     /boxes/{slug}/{number}/listen/{path} (given early) | left member, maker
        GET     /boxes/{slug}/music.opus                           | everyone
        GET     /boxes/{slug}/music.wav                            | everyone
        GET     /boxes/{slug}/{number}/share.png (on the shelf)    | everyone
        GET     /boxes/{slug}/{number}/share.png (given early)     | left member, maker
        GET     /boxes/{slug}/which-version                        | everyone
        GET     /boxes/{slug}/versions.json                        | everyone
        GET     /boxes/{slug}/feed.atom                            | everyone
        HEAD    /boxes/{slug}/feed.atom                            | everyone
        GET     /share.png                                         | everyone
        GET     /feed.atom                                         | everyone
        HEAD    /feed.atom                                         | everyone
        GET     /drops/{month}                                     | everyone
        GET     /boxes/{slug}/follow                               | everyone
        POST    /boxes/{slug}/follow                               | everyone
        GET     /follow/{key} (with the mailed link)               | everyone
        GET     /follow/{key} (with an altered link)               | nobody
        POST    /follow/{key}?handler=Yes (with the mailed link)   | everyone
        POST    /follow/{key}?handler=Yes (with an altered link)   | nobody
        POST    /follow/{key}?handler=Stop (with the mailed link)  | everyone
        POST    /follow/{key}?handler=Stop (with an altered link)  | nobody
        GET     /letters/{key}/{kind} (with the mailed link)       | everyone
        GET     /letters/{key}/{kind} (with an altered link)       | nobody
        POST    /letters/{key}/{kind} (with the mailed link)       | everyone
        POST    /letters/{key}/{kind} (with an altered link)       | nobody
        POST    /letters/{key}/{kind}?handler=Again (with the mailed link) | everyone
        POST    /letters/{key}/{kind}?handler=Again (with an altered link) | nobody
        POST    /hooks/payments (not signed)                       | everyone
        GET     /join                                              | everyone
        POST    /join (closed)                                     | everyone
        GET     /join/done/{token} (by the way back)               | everyone
        GET     /join/done/{token} (with an altered link)          | nobody
        GET     /leave/{token?} (with the mailed link)             | everyone
        GET     /leave/{token?} (nothing to leave)                 | nobody
        POST    /leave/{token?} (with the mailed link)             | everyone
        POST    /leave/{token?}?handler=Stay (with the mailed link) | everyone
        POST    /leave/{token?}?handler=Withdraw (with the mailed link) | everyone
        POST    /leave/{token?} (with an altered link)             | nobody
        GET     /mine/card (never paid)                            | nobody
        GET     /sitemap.xml                                       | everyone
        HEAD    /sitemap.xml                                       | everyone
        GET     /robots.txt                                        | everyone
        HEAD    /robots.txt                                        | everyone
        GET     /help                                              | everyone
        GET     /licence                                           | everyone
        GET     /privacy                                           | everyone
        GET     /terms                                             | everyone
        GET     /write                                             | everyone
        GET     /trouble/{code:int}                                | everyone
        POST    /trouble/{code:int}                                | everyone
        GET     /link-problem                                      | nobody
        GET     /health/ready                                      | everyone

        GET     /sign-in                                           | everyone
        POST    /sign-in                                           | everyone
        GET     /sign-in/code                                      | everyone
        POST    /sign-in/code                                      | everyone
        GET     /sign-in/{token} (with the mailed link)            | everyone
        GET     /sign-in/{token} (with an altered link)            | nobody
        POST    /sign-in/{token} (with the mailed link)            | everyone
        POST    /sign-in/{token} (with an altered link)            | nobody
        GET     /sign-out                                          | everyone
        POST    /sign-out                                          | everyone
        GET     /mine                                              | signed in
        POST    /mine (free)                                       | signed in
        POST    /mine (for members)                                | member, maker
        POST    /mine (given early)                                | left member, maker
        POST    /mine?handler=Month (for members)                  | member, maker
        POST    /mine?handler=CloseLink (the member's)             | member
        POST    /mine?handler=EndDevice (the member's)             | member
        POST    /mine?handler=EndOthers                            | signed in
        GET     /mine/address                                      | signed in
        POST    /mine/address                                      | signed in
        GET     /address/{token} (with the mailed link)            | everyone
        GET     /address/{token} (with an altered link)            | nobody
        POST    /address/{token}?handler=Yes (with the mailed link) | everyone
        POST    /address/{token}?handler=No (with the mailed link) | everyone
        POST    /address/{token}?handler=Yes (with an altered link) | nobody
        POST    /address/{token}?handler=No (with an altered link) | nobody
        GET     /mine/letters                                      | signed in
        POST    /mine/letters                                      | signed in
        GET     /mine/data                                         | signed in
        GET     /mine/data.json                                    | signed in
        GET     /mine/data.zip                                     | signed in
        GET     /mine/delete                                       | signed in
        POST    /mine/delete                                       | member, left member
        GET     /delete/{token} (with the mailed link)             | everyone
        GET     /delete/{token} (with an altered link)             | nobody
        POST    /delete/{token} (with the mailed link)             | everyone
        POST    /delete/{token} (with an altered link)             | nobody

        GET     /workbench/sign-in                                 | everyone
        POST    /workbench/sign-in                                 | everyone
        POST    /workbench/sign-in?handler=PasskeyChallenge        | everyone
        POST    /workbench/sign-in?handler=Passkey (without one)   | nobody
        GET     /workbench/claim/{token} (with the printed link)   | everyone
        GET     /workbench/claim/{token} (with an altered link)    | nobody
        POST    /workbench/claim/{token} (of a claimed shelf)      | nobody
        GET     /workbench/recover/{token} (with the printed link) | everyone
        GET     /workbench/recover/{token} (with an altered link)  | nobody
        POST    /workbench/recover/{token} (with the printed link) | everyone
        POST    /workbench/recover/{token} (with an altered link)  | nobody

        GET     /workbench                                         | maker
        POST    /workbench?handler=PutAway                         | maker
        POST    /workbench?handler=GoOn                            | maker
        GET     /workbench/jobs                                    | maker
        POST    /workbench/jobs?handler=Run                        | maker
        POST    /workbench/jobs?handler=StopBackup                 | maker
        POST    /workbench/jobs?handler=StopReading                | maker
        POST    /workbench/jobs?handler=ReadThrough                | maker
        GET     /workbench/membership                              | maker
        POST    /workbench/membership?handler=Offer                | maker
        POST    /workbench/membership?handler=Close                | maker
        POST    /workbench/membership?handler=Terms                | maker
        GET     /workbench/membership/prices                       | maker
        POST    /workbench/membership/prices                       | maker
        POST    /workbench/membership/prices?handler=Look          | maker
        POST    /workbench/membership/prices?handler=CallOff       | maker
        GET     /workbench/membership/credit                       | maker
        POST    /workbench/membership/credit                       | maker
        POST    /workbench/membership/credit?handler=Look          | maker
        GET     /workbench/drops                                   | maker
        POST    /workbench/drops?handler=Usual                     | maker
        GET     /workbench/drops/{month}                           | maker
        GET     /workbench/drops/{month}?handler=Letter            | maker
        POST    /workbench/drops/{month}                           | maker
        POST    /workbench/drops/{month}?handler=LookSlip          | maker
        POST    /workbench/drops/{month}?handler=Slip              | maker
        POST    /workbench/drops/{month}?handler=EndSlip           | maker
        POST    /workbench/drops/{month}?handler=Rehearse          | maker
        POST    /workbench/drops/{month}?handler=PutIn             | maker
        POST    /workbench/drops/{month}?handler=TakeOut           | maker
        POST    /workbench/drops/{month}?handler=Move              | maker
        POST    /workbench/drops/{month}?handler=Cancel            | maker
        POST    /workbench/drops/{month}?handler=Declare           | maker
        POST    /workbench/drops/{month}?handler=LetGo             | maker
        POST    /workbench/drops/{month}?handler=TakeBack          | maker
        POST    /workbench/drops/{month}?handler=WasOut            | maker
        GET     /workbench/libraries/new                           | maker
        POST    /workbench/libraries/new                           | maker
        GET     /workbench/libraries/{slug}                        | maker
        POST    /workbench/libraries/{slug}?handler=Start          | maker
        POST    /workbench/libraries/{slug}?handler=Decide         | maker
        POST    /workbench/libraries/{slug}?handler=Words          | maker
        GET     /workbench/libraries/{slug}/faults                 | maker
        POST    /workbench/libraries/{slug}/faults?handler=Mended  | maker
        POST    /workbench/libraries/{slug}/faults?handler=PutAway | maker
        POST    /workbench/libraries/{slug}/faults?handler=OpenAgain | maker
        GET     /workbench/libraries/{slug}/music                  | maker
        POST    /workbench/libraries/{slug}/music                  | maker
        POST    /workbench/libraries/{slug}/music?handler=Remove   | maker
        GET     /workbench/libraries/{slug}/limits                 | maker
        POST    /workbench/libraries/{slug}/limits                 | maker
        GET     /workbench/releases/{id:long}                      | maker
        POST    /workbench/releases/{id:long}?handler=Check        | maker
        POST    /workbench/releases/{id:long}?handler=StopCheck    | maker
        POST    /workbench/releases/{id:long}?handler=StopUnpacking | maker
        POST    /workbench/releases/{id:long}?handler=Discard      | maker
        GET     /workbench/releases/{id:long}/zip                  | maker
        POST    /workbench/releases/{id:long}/zip                  | maker
        GET     /workbench/releases/{id:long}/sheet                | maker
        POST    /workbench/releases/{id:long}/sheet?handler=Excuse | maker
        POST    /workbench/releases/{id:long}/sheet?handler=Judge  | maker
        GET     /workbench/releases/{id:long}/sheet.csv            | maker
        GET     /workbench/releases/{id:long}/changes              | maker
        POST    /workbench/releases/{id:long}/changes?handler=Compare | maker
        POST    /workbench/releases/{id:long}/changes?handler=StopComparing | maker
        POST    /workbench/releases/{id:long}/changes?handler=Take | maker
        POST    /workbench/releases/{id:long}/changes?handler=Number | maker
        GET     /workbench/releases/{id:long}/changes.json         | maker
        GET     /workbench/releases/{id:long}/sheet.json           | maker
        GET     /workbench/releases/{id:long}/recordings/{sha256}  | maker
        GET     /workbench/releases/{id:long}/words                | maker
        POST    /workbench/releases/{id:long}/words                | maker
        POST    /workbench/releases/{id:long}/words?handler=Number | maker
        GET     /workbench/releases/{id:long}/seal                 | maker
        POST    /workbench/releases/{id:long}/seal?handler=Seal    | maker
        POST    /workbench/releases/{id:long}/seal?handler=SealAndPublish | maker
        POST    /workbench/releases/{id:long}/seal?handler=Publish | maker
        POST    /workbench/releases/{id:long}/seal?handler=Early   | maker
        POST    /workbench/releases/{id:long}/seal?handler=RemoveGuest | maker
        POST    /workbench/releases/{id:long}/seal?handler=ReadAgain | maker
        POST    /workbench/releases/{id:long}/seal?handler=StopReading | maker
        POST    /workbench/releases/{id:long}/seal?handler=HoldListening | maker
        POST    /workbench/releases/{id:long}/seal?handler=GoOnListening | maker
        GET     /workbench/releases/{id:long}/withdraw             | maker
        POST    /workbench/releases/{id:long}/withdraw             | maker
        GET     /workbench/members                                 | maker
        POST    /workbench/members                                 | maker
        GET     /workbench/members?handler=Csv                     | maker
        GET     /workbench/members/{id:long}                       | maker
        POST    /workbench/members/{id:long}?handler=EndGiven      | maker
        POST    /workbench/members/{id:long}?handler=EndPaid       | maker
        POST    /workbench/members/{id:long}?handler=PayBack       | maker
        POST    /workbench/members/{id:long}?handler=TryAgain      | maker
        GET     /workbench/members/import                          | maker
        POST    /workbench/members/import                          | maker
        POST    /workbench/members/import?handler=Bring            | maker
        GET     /workbench/members/merge                           | maker
        POST    /workbench/members/merge?handler=Look              | maker
        POST    /workbench/members/merge?handler=Merge             | maker
        GET     /workbench/downloads                               | maker
        POST    /workbench/downloads?handler=Close                 | maker
        POST    /workbench/downloads?handler=CloseAll              | maker
        GET     /workbench/numbers                                 | maker
        GET     /workbench/numbers?handler=SharesCsv               | maker
        GET     /workbench/numbers/downloads                       | maker
        GET     /workbench/numbers/downloads?handler=Csv           | maker
        GET     /workbench/numbers/versions                        | maker
        GET     /workbench/numbers/versions?handler=Csv            | maker
        GET     /workbench/numbers/versions?handler=LatestCsv      | maker
        GET     /workbench/numbers/versions?handler=UptakesCsv     | maker
        GET     /workbench/numbers/versions/{slug}/letter          | maker
        POST    /workbench/numbers/versions/{slug}/letter?handler=Look | maker
        POST    /workbench/numbers/versions/{slug}/letter?handler=Send | maker
        GET     /workbench/numbers/drops                           | maker
        GET     /workbench/numbers/drops?handler=Csv               | maker
        GET     /workbench/numbers/members                         | maker
        GET     /workbench/numbers/members?handler=Csv             | maker
        GET     /workbench/numbers/downloads?handler=AnswersCsv    | maker
        GET     /workbench/numbers/downloads?handler=SumsCsv       | maker
        GET     /workbench/numbers/downloads?handler=PeopleCsv     | maker
        GET     /workbench/numbers/downloads?handler=MonthsCsv     | maker
        POST    /workbench/numbers/downloads?handler=Price         | maker
        GET     /workbench/numbers/libraries                       | maker
        GET     /workbench/numbers/libraries?handler=Csv           | maker
        GET     /workbench/numbers/libraries?handler=ReferrersCsv  | maker
        GET     /workbench/numbers/libraries?handler=SearchesCsv   | maker
        GET     /workbench/outbox                                  | maker
        POST    /workbench/outbox?handler=Lift                     | maker
        POST    /workbench/outbox?handler=TryAgain                 | maker
        POST    /workbench/outbox?handler=Stop                     | maker
        POST    /workbench/outbox?handler=SendOn                   | maker
        GET     /workbench/tokens                                  | maker
        POST    /workbench/tokens                                  | maker
        POST    /workbench/tokens?handler=Revoke                   | maker
        GET     /workbench/shop                                    | maker
        POST    /workbench/shop                                    | maker
        POST    /workbench/shop?handler=Password                   | maker
        POST    /workbench/shop?handler=PasskeyChallenge           | maker
        POST    /workbench/shop?handler=Passkey (without one)      | maker
        POST    /workbench/shop?handler=RemovePasskey              | maker

        POST    /api/libraries/{slug}/drafts                       | maker, token
        POST    /api/drafts/{id:long}/folder                       | maker, token
        POST    /api/drafts/{id:long}/check                        | maker, token
        GET     /api/drafts/{id:long} (being sent)                 | maker, token
        GET     /api/drafts/{id:long} (sealed)                     | maker
        GET     /api/numbers/downloads                             | maker, numbers token
        GET     /api/numbers/libraries                             | maker, numbers token
        GET     /api/numbers/versions                              | maker, numbers token
        GET     /api/numbers/members                               | maker, numbers token
        GET     /api/numbers/drops                                 | maker, numbers token
        OPTIONS /uploads                                           | everyone
        OPTIONS /uploads/{id}                                      | everyone
        POST    /uploads                                           | maker, token
        POST    /uploads/{id}                                      | maker, token
        HEAD    /uploads/{id}                                      | maker, token
        PATCH   /uploads/{id}                                      | maker, token
        DELETE  /uploads/{id}                                      | maker, token

        GET     /get/{**link} (altered)                            | nobody
        HEAD    /get/{**link} (altered)                            | nobody
        HEAD    /get/{**link} (as made)                            | everyone
        GET     /get/{**link} (as made)                            | everyone
        GET     /wait/{**link} (altered)                           | nobody
        GET     /wait/{**link} (as made)                           | everyone
        """;

    public static IReadOnlyList<DoorRow> Rows { get; } =
        [.. Table.Split('\n', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries).Select(DoorRow.Read)];
}

/// <summary>One row of the table.</summary>
/// <param name="Endpoint">"POST /workbench/tokens?handler=Revoke".</param>
/// <param name="Case">"for members"; empty when every case is decided alike.</param>
internal sealed record DoorRow(string Endpoint, string Case, IReadOnlySet<Who> May)
{
    public string Name => Case.Length == 0 ? Endpoint : $"{Endpoint} ({Case})";

    public HttpMethod Method => HttpMethod.Parse(Endpoint.AsSpan(0, Endpoint.IndexOf(' ', StringComparison.Ordinal)));

    public string Path => Endpoint[(Endpoint.IndexOf(' ', StringComparison.Ordinal) + 1)..];

    /// <summary>By its method it promises to change nothing (RFC 9110 §9.2.1).</summary>
    public bool IsLook => Method == HttpMethod.Get || Method == HttpMethod.Head || Method == HttpMethod.Options;

    public static DoorRow Read(string line)
    {
        var (left, right) = (line[..line.IndexOf('|', StringComparison.Ordinal)].Trim(), line[(line.IndexOf('|', StringComparison.Ordinal) + 1)..].Trim());
        var method = left[..left.IndexOf(' ', StringComparison.Ordinal)];
        var path = left[method.Length..].Trim();
        var bracket = path.IndexOf(" (", StringComparison.Ordinal);
        var which = bracket < 0 ? "" : path[(bracket + 2)..^1];
        return new($"{method} {(bracket < 0 ? path : path[..bracket])}", which, Named(right));
    }

    private static HashSet<Who> Named(string words) => [.. words.Split(", ").SelectMany(IEnumerable<Who> (word) => word switch
    {
        "nobody" => [],
        "everyone" => Enum.GetValues<Who>(),
        "signed in" => [Who.Member, Who.LeftMember, Who.Maker],
        "member" => [Who.Member],
        "left member" => [Who.LeftMember],
        "maker" => [Who.Maker],
        "token" => [Who.Token],
        "numbers token" => [Who.NumbersToken],
        _ => throw new ArgumentException($"“{word}” is nobody this table knows.", nameof(words)),
    })];
}

/// <summary>Every kind of person who knocks.</summary>
internal enum Who
{
    Visitor,
    Member,
    /// <summary>A member whose membership was ended.</summary>
    LeftMember,
    Maker,
    /// <summary>The command line with an upload token.</summary>
    Token,
    /// <summary>A program with a token for the figures.</summary>
    NumbersToken,
    /// <summary>The command line with a token that was revoked.</summary>
    RevokedToken,
}
