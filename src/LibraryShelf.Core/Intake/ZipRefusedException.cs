namespace LibraryShelf.Core.Intake;

/// <summary>Leaves the unpacking from any depth; never leaves <see cref="UnpackZip"/>. The message is for the maker.</summary>
internal sealed class ZipRefusedException : Exception
{
    public ZipRefusedException() { }
    public ZipRefusedException(string message) : base(message) { }
    public ZipRefusedException(string message, Exception innerException) : base(message, innerException) { }
}
