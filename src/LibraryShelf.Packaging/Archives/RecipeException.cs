namespace LibraryShelf.Packaging.Archives;

/// <summary>These files can't be an archive as they are. The message names the file and says why, for the person who has it.</summary>
public sealed class RecipeException : Exception
{
    public RecipeException() { }
    public RecipeException(string message) : base(message) { }
    public RecipeException(string message, Exception innerException) : base(message, innerException) { }
}
