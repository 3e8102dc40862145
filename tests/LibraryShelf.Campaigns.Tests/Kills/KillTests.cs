using LibraryShelf.Campaigns.Tests.Running;
using Xunit.Abstractions;

namespace LibraryShelf.Campaigns.Tests.Kills;

/// <summary>
/// `kill -9` at points of each step. With SHELF_SLOW=1 there are 425, else the fixed few of <see cref="Steps"/>. SHELF_SEED=n draws other
/// points; a failure names its own.
/// </summary>
public sealed class KillTests(KillTests.OneShelf one, ITestOutputHelper output) : IClassFixture<KillTests.OneShelf>
{
    private static readonly bool IsSlow = Environment.GetEnvironmentVariable("SHELF_SLOW") == "1";
    private static readonly int Seed = int.TryParse(Environment.GetEnvironmentVariable("SHELF_SEED"), out var seed) ? seed : 1_125;

    /// <summary>Step, points of the short run, points of the 425.</summary>
    public static TheoryData<string, int, int> Steps { get; } = new()
    {
        { nameof(SentByCommand), 2, 40 },
        { nameof(SentAsZip), 1, 30 },
        { nameof(Checked), 1, 25 },
        { nameof(Sealed), 1, 20 },
        { nameof(SealedAndPublished), 1, 20 },
        { nameof(Published), 1, 10 },
        { nameof(Digested), 1, 15 },
        { nameof(Counted), 1, 15 },
        { nameof(Downloaded), 2, 25 },
        { nameof(Paid), 2, 25 },
        { nameof(DropSent), 5, 200 },
    };

    [Theory, MemberData(nameof(Steps))]
    public async Task Killed_at_any_point_it_is_in_the_old_state_or_the_new_and_goes_on(string step, int few, int many)
    {
        var shelf = await one.GetAsync(step switch
        {
            nameof(Paid) => ["--Shelf:Payments:Practice=true"],
            nameof(DropSent) => one.Mails.Arguments,
            _ => [],
        });
        await new Campaign(shelf, StepOf(step, shelf, one.Mails), output).RunAsync(IsSlow ? many : few, Seed + SeedOf(step));
        one.Keep();
    }

    /// <summary>Each step its own draws.</summary>
    private static int SeedOf(string step) => step.Sum(letter => letter);

    private static KilledStep StepOf(string name, TrialShelf shelf, MailTaker mails) => name switch
    {
        nameof(SentByCommand) => new SentByCommand(shelf),
        nameof(SentAsZip) => new SentAsZip(shelf),
        nameof(Checked) => new Checked(shelf),
        nameof(Sealed) => new Sealed(shelf),
        nameof(SealedAndPublished) => new SealedAndPublished(shelf),
        nameof(Published) => new Published(shelf),
        nameof(Digested) => new Digested(shelf),
        nameof(Counted) => new Counted(shelf),
        nameof(Downloaded) => new Downloaded(shelf),
        nameof(Paid) => new Paid(shelf),
        nameof(DropSent) => new DropSent(shelf, mails),
        _ => throw new ArgumentException(name, nameof(name)),
    };

    /// <summary>
    /// One data directory for all steps, because a start costs seconds; after a failure, and where the program is started otherwise, the next step gets a fresh one.
    /// </summary>
    public sealed class OneShelf : IDisposable
    {
        private TrialShelf? shelf;
        private bool isSound;

        internal MailTaker Mails { get; } = new();

        internal async Task<TrialShelf> GetAsync(string[] arguments)
        {
            if (!isSound || !arguments.SequenceEqual(shelf!.Arguments))
            {
                shelf?.Dispose();
                shelf = await TrialShelf.ClaimedAsync(null, arguments);
                await shelf.StartAsync();
                await new Maker(shelf).SignInAsync();
            }
            isSound = false;
            return shelf!;
        }

        internal void Keep() => isSound = true;

        public void Dispose()
        {
            shelf?.Dispose();
            Mails.Dispose();
        }
    }
}
