using LibraryShelf.Core.Storage;
using Microsoft.Data.Sqlite;
using Microsoft.EntityFrameworkCore;
using Npgsql;

namespace LibraryShelf.Core.Tests.Storage;

/// <summary>A full disk, told by whoever met it: PostgreSQL's SQLSTATE (its manual, Appendix A), SQLite's result codes, errno.</summary>
public sealed class DiskTroubleTests
{
    [Theory]
    [InlineData("53100", true)] // disk_full
    [InlineData("53200", false)] // out_of_memory
    [InlineData("53300", false)] // too_many_connections
    [InlineData("40001", false)] // serialization_failure
    public void PostgreSQL_says_it_by_its_state_however_deep_it_lies(string state, bool isFull)
    {
        var fault = new PostgresException("could not extend file", "ERROR", "ERROR", state);
        Assert.Equal(isFull, DiskTrouble.IsFull(fault));
        Assert.Equal(isFull, DiskTrouble.IsFull(new DbUpdateException("An error occurred.", fault)));
        Assert.Equal(isFull, DiskTrouble.IsFull(new InvalidOperationException("A transient failure.", new DbUpdateException("An error occurred.", fault))));
    }

    [Theory]
    [InlineData(13, true)] // SQLITE_FULL
    [InlineData(10, true)] // SQLITE_IOERR
    [InlineData(5, false)] // SQLITE_BUSY
    [InlineData(19, false)] // SQLITE_CONSTRAINT
    public void SQLite_says_it_by_its_code(int code, bool isFull) =>
        Assert.Equal(isFull, DiskTrouble.IsFull(new DbUpdateException("An error occurred.", new SqliteException($"SQLite Error {code}: 'words'.", code))));

    [Fact]
    public void A_file_that_is_not_there_is_no_full_disk()
    {
        Assert.Null(DiskTrouble.WordsOf(new FileNotFoundException()));
        Assert.True(DiskTrouble.IsFull(new IOException("No space left on device", 28)));
    }
}
