namespace LibraryShelf.Packaging.Folders;

/// <summary>Why a path can't be carried to every machine. The first group is never stored at all; the second can be mended in the folder.</summary>
public enum PathProblem
{
    // Never stored: such a path could write outside its folder or can't be told apart from another.
    Empty,
    Absolute,
    Drive,
    NetworkPath,
    Backslash,
    ClimbsOut,
    EmptyPart,
    ControlCharacter,
    BrokenText,
    FarTooLong,

    // Stored in a draft, must be mended before sealing: some system refuses or alters such a name.
    ForbiddenCharacter,
    ReservedName,
    TrailingDotOrSpace,
    PartTooLong,
    TooLong,
}
