using System.Globalization;
using LibraryShelf.Packaging.Folders;

namespace LibraryShelf.Packaging.Mappings;

public enum SfzValueKind
{
    /// <summary>A file path; may hold spaces.</summary>
    Path,
    Whole,
    Decimal,
    /// <summary>A MIDI note number or a name such as c#4 (C4 = 60).</summary>
    Note,
    /// <summary>One of a few words.</summary>
    Word,
}

/// <summary>
/// One opcode of SFZ version 1: how its value reads, what holds without it, and the bounds. <see cref="Default"/> is null where there is
/// none or where it depends on the recording.
/// </summary>
public sealed record SfzOpcode(
    string Name, SfzValueKind Kind, string? Default, double Min = double.MinValue, double Max = double.MaxValue, params IReadOnlyList<string> Words)
{
    /// <summary>True when <paramref name="text"/> is a number or note within bounds. For paths and words <paramref name="number"/> is 0.</summary>
    public bool TryRead(string text, out double number)
    {
        number = 0;
        switch (Kind)
        {
            case SfzValueKind.Path:
                return text.Length > 0;
            case SfzValueKind.Word:
                return Words.Contains(text, StringComparer.Ordinal);
            case SfzValueKind.Note when NoteNames.TryParse(text, out var note):
                number = note;
                return true;
            default:
                return double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out number)
                    && number >= Min && number <= Max && (Kind == SfzValueKind.Decimal || Math.Floor(number) == number);
        }
    }
}
