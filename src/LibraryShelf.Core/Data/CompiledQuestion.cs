using System.Runtime.CompilerServices;
using Microsoft.EntityFrameworkCore.Metadata;

namespace LibraryShelf.Core.Data;

/// <summary>
/// A query worked out once and kept (see EF.CompileAsyncQuery). One compiled query serves one model, and a process may hold several:
/// each database kind has its own.
/// </summary>
/// <typeparam name="T">The compiled query, a delegate.</typeparam>
internal sealed class CompiledQuestion<T>(Func<T> compile) where T : Delegate
{
    private readonly ConditionalWeakTable<IModel, T> compiled = [];

    public T For(ShelfDb db) => compiled.GetValue(db.Model, _ => compile());
}
