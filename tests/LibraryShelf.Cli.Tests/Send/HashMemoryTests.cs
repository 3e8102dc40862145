using LibraryShelf.Cli.Folders;
using LibraryShelf.Cli.Send;

namespace LibraryShelf.Cli.Tests.Send;

public sealed class HashMemoryTests : IDisposable
{
    private static readonly DateTimeOffset WholeSecond = new(2026, 3, 1, 12, 0, 0, TimeSpan.Zero);

    private readonly DirectoryInfo folder = Directory.CreateTempSubdirectory("shelf-memory-");

    public void Dispose() => folder.Delete(recursive: true);

    /// <summary>
    /// FAT keeps whole even seconds (Microsoft, "File Times": a write time "with a resolution of 2 seconds"); a time with a fraction is of a clock that is finer.
    /// </summary>
    [Theory]
    [InlineData(0, 2.9, false)]
    [InlineData(0, 3.1, true)]
    [InlineData(123, 0.9, false)]
    [InlineData(123, 1.1, true)]
    public async Task A_file_is_remembered_once_it_can_not_have_changed_within_the_same_tick(int milliseconds, double secondsBefore, bool remembers)
    {
        var changed = WholeSecond.AddMilliseconds(milliseconds);
        var file = Write(changed);
        var memory = NewMemory();
        memory.Remember(await FileHashing.HashAsync(file, _ => { }, CancellationToken.None), changed.AddSeconds(secondsBefore));
        memory.Save();

        var later = NewMemory();
        later.Load();
        Assert.Equal(remembers, later.Recall(file) is not null);
    }

    [Fact]
    public async Task One_that_was_changed_since_is_read_again()
    {
        var file = Write(WholeSecond);
        var memory = NewMemory();
        memory.Remember(await FileHashing.HashAsync(file, _ => { }, CancellationToken.None), WholeSecond.AddMinutes(1));
        memory.Save();
        Write(WholeSecond.AddSeconds(2));

        var later = NewMemory();
        later.Load();
        Assert.Null(later.Recall(file));
    }

    private HashMemory NewMemory() => new(Path.Combine(folder.FullName, "hashes"), folder.FullName, TimeProvider.System);

    private LocalFile Write(DateTimeOffset changed)
    {
        var path = Path.Combine(folder.FullName, "C4.wav");
        File.WriteAllBytes(path, [1, 2, 3]);
        File.SetLastWriteTimeUtc(path, changed.UtcDateTime);
        return new LocalFile("C4.wav", path, 3);
    }
}
