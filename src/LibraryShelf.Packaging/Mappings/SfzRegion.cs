using System.Globalization;

namespace LibraryShelf.Packaging.Mappings;

public enum SfzTrigger { Attack, Release, First, Legato }

/// <summary>
/// A region with everything it inherits: which recording sounds for which keys and velocities. Values that can't be read count as
/// absent.
/// </summary>
public sealed record SfzRegion
{
    /// <summary>The sample opcode as written, default_path included; null: the region is silent by itself.</summary>
    public string? SampleText { get; init; }

    /// <summary>The recording's path in the library folder; null when there is none or it lies outside.</summary>
    public string? Sample { get; init; }

    /// <summary>The file and line of the region's header.</summary>
    public required string File { get; init; }
    public required int Line { get; init; }

    /// <summary>Opcodes as written, inherited ones included.</summary>
    public required IReadOnlyDictionary<string, string> Opcodes { get; init; }

    /// <summary>MIDI notes; −1: no key sounds it.</summary>
    public int LowKey => Whole("lokey");
    public int HighKey => Whole("hikey");

    /// <summary>The key at which the recording sounds untransposed.</summary>
    public int KeyCenter => Whole("pitch_keycenter");
    public int LowVelocity => Whole("lovel");
    public int HighVelocity => Whole("hivel");

    /// <summary>
    /// Semitones that the control header's note_offset and octave_offset lay on every key that the region names, its key centre too. They are no
    /// part of SFZ version 1, and the properties above leave them out.
    /// </summary>
    public int NoteOffset { get; init; }

    /// <summary>A random number from 0 up to 1 chooses among takes: low inclusive, high exclusive.</summary>
    public double LowRandom => Number("lorand");
    public double HighRandom => Number("hirand");
    public int SequenceLength => Whole("seq_length");
    public int SequencePosition => Whole("seq_position");

    public SfzTrigger Trigger => Word("trigger") switch
    {
        "release" => SfzTrigger.Release,
        "first" => SfzTrigger.First,
        "legato" => SfzTrigger.Legato,
        _ => SfzTrigger.Attack,
    };

    /// <summary>end=-1 mutes a region.</summary>
    public bool IsMuted => Opcodes.GetValueOrDefault("end") == "-1";

    /// <summary>Shifted by transpose, or not following the keys: its key centre says nothing about the recording's note.</summary>
    public bool IsRetuned => Number("transpose") != 0 || Number("pitch_keytrack") == 0;

    /// <summary>The value of a number or note opcode, or its default; 0 where neither exists.</summary>
    public double Number(string opcode)
    {
        var definition = SfzOpcodes.Find(opcode) ?? throw new ArgumentException("Not an opcode whose value is read.", nameof(opcode));
        if (Opcodes.TryGetValue(opcode, out var text) && definition.TryRead(text, out var number))
            return number;
        return definition.Default is null ? 0 : double.Parse(definition.Default, CultureInfo.InvariantCulture);
    }

    /// <summary>The value of a word opcode, or its default.</summary>
    public string? Word(string opcode)
    {
        var definition = SfzOpcodes.Find(opcode);
        return Opcodes.TryGetValue(opcode, out var text) && definition?.TryRead(text, out _) == true ? text : definition?.Default;
    }

    private int Whole(string opcode) => (int)Number(opcode);
}
