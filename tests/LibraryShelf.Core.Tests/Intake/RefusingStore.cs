using LibraryShelf.Core.Storage;

namespace LibraryShelf.Core.Tests.Intake;

/// <summary>A store whose disk refuses to take anything in while <see cref="Refusing"/> says with what.</summary>
internal sealed class RefusingStore(IBlobStore inner) : IBlobStore
{
    public Func<Exception>? Refusing { get; set; }

    /// <summary>How often something is taken in before it refuses.</summary>
    public int After { get; set; }

    public Task<StoredBytes> PutAsync(Stream content, CancellationToken cancellationToken) =>
        Refuses() is { } e ? Task.FromException<StoredBytes>(e) : inner.PutAsync(content, cancellationToken);

    public async Task AdoptAsync(string filePath, StoredBytes bytes, CancellationToken cancellationToken)
    {
        if (Refuses() is { } e)
            throw e;
        await inner.AdoptAsync(filePath, bytes, cancellationToken);
        if (AfterAdopting is { } after)
            throw after();
    }

    /// <summary>What is met right after a file was moved in.</summary>
    public Func<Exception>? AfterAdopting { get; set; }

    /// <summary>Nothing can be read either.</summary>
    public bool RefuseOpen { get; set; }

    /// <summary>Done before something is read, once.</summary>
    public Func<Task>? BeforeOpen { get; set; }

    public Stream Open(string sha256)
    {
        var before = BeforeOpen;
        BeforeOpen = null;
        if (before is not null)
            Task.Run(before).GetAwaiter().GetResult();
        return RefuseOpen ? throw new IOException("The disk failed.") : inner.Open(sha256);
    }

    public bool Has(string sha256) => inner.Has(sha256);

    public string? LocalPath(string sha256) => inner.LocalPath(sha256);

    public IEnumerable<string> UntouchedSince(DateTimeOffset before) => inner.UntouchedSince(before);

    public bool Remove(string sha256, DateTimeOffset before) => inner.Remove(sha256, before);

    public void ClearUnfinished(DateTimeOffset before) => inner.ClearUnfinished(before);

    private Exception? Refuses() => Refusing is not null && After-- <= 0 ? Refusing() : null;
}
