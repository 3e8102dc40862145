namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>Takes a step of the shelf as a request would: in a scope of its own, with the practice shop's clock.</summary>
internal sealed class Steps(IServiceProvider services)
{
    public async Task<TOutcome> TakeAsync<TVerb, TOutcome>(Func<TVerb, Task<TOutcome>> run)
        where TVerb : notnull
    {
        await using var scope = services.CreateAsyncScope();
        return await run(scope.ServiceProvider.GetRequiredService<TVerb>());
    }

    /// <summary>Takes a step whose one good outcome is <typeparamref name="TGood"/>; any other is a fault of the seed.</summary>
    public async Task<TGood> MustAsync<TVerb, TGood>(string what, Func<TVerb, Task<object?>> run)
        where TVerb : notnull
    {
        var outcome = await TakeAsync(run);
        return outcome is TGood good ? good : throw new InvalidOperationException($"The practice shop could not {what}: {outcome}");
    }
}
