namespace LibraryShelf.Web.Setup.Demo.Folders;

/// <summary>One line of a mapping: which keys and loudness sound a file. Keys are MIDI numbers, velocities 1 to 127.</summary>
internal sealed record MappedRecording(
    string Way, string Path, int LowKey, int HighKey, int Key, int LowVelocity, int HighVelocity, int Take, int Takes, bool IsLift, bool Loops);
