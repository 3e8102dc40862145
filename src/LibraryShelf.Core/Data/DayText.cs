using Microsoft.EntityFrameworkCore.Storage.ValueConversion;
using NodaTime;
using NodaTime.Text;

namespace LibraryShelf.Core.Data;

/// <summary>Stores a calendar day as "2026-03-31": sorts as text, and a person reads it in the table.</summary>
public sealed class DayText() : ValueConverter<LocalDate, string>(
    day => LocalDatePattern.Iso.Format(day),
    stored => LocalDatePattern.Iso.Parse(stored).Value);
