namespace LibraryShelf.Packaging.Folders;

/// <summary>
/// Note names in a library whose middle C (MIDI note 60) is called C4 or C3. The octave number is a convention, both are in use; SFZ's own
/// texts always say C4. <paramref name="MiddleCOctave"/> is 4 or 3.
/// </summary>
public readonly record struct NoteNaming(int MiddleCOctave)
{
    public static readonly NoteNaming C4 = new(4);

    /// <summary>The name of MIDI note 0 to 127.</summary>
    public string Name(int note) => NoteNames.Name(note, MiddleCOctave);

    /// <summary>As <see cref="NoteNames.FromFileName"/>, in this convention; null also when the note is beyond 0 to 127.</summary>
    public int? FromFileName(string path) =>
        NoteNames.FromFileName(path, MiddleCOctave);
}
