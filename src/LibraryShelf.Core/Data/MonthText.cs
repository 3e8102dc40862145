using Microsoft.EntityFrameworkCore.Storage.ValueConversion;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Data;

/// <summary>Stores a calendar month as "2026-03": sorts as text, and a person reads it in the table.</summary>
public sealed class MonthText() : ValueConverter<YearMonth, string>(
    month => YearMonthPattern.Iso.Format(month),
    stored => YearMonthPattern.Iso.Parse(stored).Value);
