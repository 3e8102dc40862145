using Hangfire.Common;
using LibraryShelf.Web.Jobs;

namespace LibraryShelf.Web.Tests.Jobs;

public sealed class FaultWordsTests
{
    [Theory]
    [InlineData(typeof(PaymentsJob), "what members paid is not lost")]
    [InlineData(typeof(ReconcileJob), "as they were last told")]
    [InlineData(typeof(MoneyJob), "nothing is paid back twice")]
    [InlineData(typeof(TellAddressJob), "the daily look tells it there")]
    [InlineData(typeof(ForgetJob), "deleted people’s payments")]
    [InlineData(typeof(DropJob), "Nothing of it is out, or all of it.")]
    [InlineData(typeof(BackupJob), "Earlier backups are kept")]
    [InlineData(typeof(KeepDeletionsJob), "noted with the next backup")]
    public async Task Each_job_about_money_people_a_drop_or_backups_has_its_own_words(Type type, string words)
    {
        var method = type.GetMethod("RunAsync")!;
        object[] arguments = type == typeof(TellAddressJob) || type == typeof(DropJob) ? [7L, CancellationToken.None] : [CancellationToken.None];
        await using var host = new ShelfHost();
        var said = await host.AskDbAsync(db => new FaultWords(db).OfAsync(new Job(type, method, arguments), default));
        Assert.Contains(words, said, StringComparison.Ordinal);
    }
}
