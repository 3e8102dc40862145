using LibraryShelf.Web.Setup.Demo.Recipes;
using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Setup.Demo.Folders;

/// <summary>A file of a version's folder: a recording still to be made, or bytes at hand.</summary>
internal sealed record SeedFile(string Path, PlannedRecording? Recording, byte[]? Bytes);

/// <summary>A recording to make, and what is planted in it. Equal ones are the same bytes.</summary>
internal sealed record PlannedRecording(Voice Voice, Sound Sound, FaultKind? Fault);
