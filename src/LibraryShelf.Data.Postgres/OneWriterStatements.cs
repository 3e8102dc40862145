using System.Data.Common;
using Microsoft.EntityFrameworkCore;
using Microsoft.EntityFrameworkCore.Diagnostics;

namespace LibraryShelf.Data.Postgres;

/// <summary>
/// The same for what EF Core would write without a transaction. Saving always gets one. A lone UPDATE or DELETE waits for the
/// writing lock first: both travel together and are one implicit transaction
/// (https://www.postgresql.org/docs/current/protocol-flow.html#PROTOCOL-FLOW-PIPELINING), and the second sees what was committed
/// while the first waited.
/// </summary>
internal sealed class OneWriterStatements : DbCommandInterceptor, ISaveChangesInterceptor
{
    public static readonly OneWriterStatements Instance = new();

    public InterceptionResult<int> SavingChanges(DbContextEventData eventData, InterceptionResult<int> result)
    {
        SaveInTransaction(eventData);
        return result;
    }

    public ValueTask<InterceptionResult<int>> SavingChangesAsync(
        DbContextEventData eventData, InterceptionResult<int> result, CancellationToken cancellationToken = default)
    {
        SaveInTransaction(eventData);
        return ValueTask.FromResult(result);
    }

    public override InterceptionResult<int> NonQueryExecuting(DbCommand command, CommandEventData eventData, InterceptionResult<int> result)
    {
        WaitFirst(command, eventData);
        return result;
    }

    public override ValueTask<InterceptionResult<int>> NonQueryExecutingAsync(
        DbCommand command, CommandEventData eventData, InterceptionResult<int> result, CancellationToken cancellationToken = default)
    {
        WaitFirst(command, eventData);
        return ValueTask.FromResult(result);
    }

    private static void SaveInTransaction(DbContextEventData eventData) =>
        eventData.Context!.Database.AutoTransactionBehavior = AutoTransactionBehavior.Always;

    private static void WaitFirst(DbCommand command, CommandEventData eventData)
    {
        if (command.Transaction is null && eventData.CommandSource is (CommandSource.ExecuteUpdate or CommandSource.ExecuteDelete))
            command.CommandText = OneWriter.Wait + ";" + Environment.NewLine + command.CommandText;
    }
}
