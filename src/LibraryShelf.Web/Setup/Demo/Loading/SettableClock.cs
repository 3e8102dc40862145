namespace LibraryShelf.Web.Setup.Demo.Loading;

/// <summary>A clock that stands where it is put, so that the steps of the shelf date the practice shop's past as if they had been taken then.</summary>
internal sealed class SettableClock(DateTimeOffset now) : TimeProvider
{
    public DateTimeOffset Now { get; set; } = now;

    public override DateTimeOffset GetUtcNow() => Now;
}
