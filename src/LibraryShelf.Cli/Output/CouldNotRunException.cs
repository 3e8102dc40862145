namespace LibraryShelf.Cli.Output;

/// <summary>Ends a command with exit code 2. The message is for the person: what happened, what is kept, what to do.</summary>
internal sealed class CouldNotRunException : Exception
{
    public CouldNotRunException() { }
    public CouldNotRunException(string message) : base(message) { }
    public CouldNotRunException(string message, Exception innerException) : base(message, innerException) { }
}
