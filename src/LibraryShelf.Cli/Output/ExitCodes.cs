namespace LibraryShelf.Cli.Output;

/// <summary>What every command's exit code means to a script.</summary>
internal static class ExitCodes
{
    public const int Fine = 0;
    /// <summary>The command ran, and what it looked at is not all right.</summary>
    public const int FoundSomething = 1;
    /// <summary>The command could not do its work; the error stream says why and what to do.</summary>
    public const int CouldNotRun = 2;
}
