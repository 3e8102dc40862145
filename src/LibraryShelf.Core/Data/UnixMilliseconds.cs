using Microsoft.EntityFrameworkCore.Storage.ValueConversion;

namespace LibraryShelf.Core.Data;

/// <summary>Stores an instant as Unix milliseconds (a 64-bit integer): sorts and compares the same on every database.</summary>
public sealed class UnixMilliseconds() : ValueConverter<DateTimeOffset, long>(
    instant => instant.ToUnixTimeMilliseconds(),
    stored => DateTimeOffset.FromUnixTimeMilliseconds(stored));
