using System.Collections.Concurrent;
using System.IO.Compression;
using System.Text;
using LibraryShelf.Cli.Output;
using LibraryShelf.Packaging.Archives;

namespace LibraryShelf.Cli.Compare;

/// <summary>
/// The files of an archive, read in it, without unzipping. A zip reader serves one file at a time, so there is one for each core; which is why
/// they are kept for the next file.
/// </summary>
internal sealed class ZipSide(string path) : IDisposable
{
    private readonly ConcurrentBag<ZipArchive> idle = [];

    /// <summary>One folder around everything is taken off, as when it is sent. CouldNotRunException when it is no zip or holds a file twice.</summary>
    public IReadOnlyList<SideFile> List()
    {
        var zip = Take();
        var entries = zip.Entries.Where(e => !e.FullName.EndsWith('/') && !OsDroppings.Contains(e.FullName))
            .Select(e => (Name: e.FullName, e.Length)).ToList();
        idle.Add(zip);
        if (entries.GroupBy(e => e.Name, StringComparer.Ordinal).FirstOrDefault(g => g.Skip(1).Any()) is { } twice)
            throw new CouldNotRunException($"{path} holds \"{twice.Key}\" twice. Zip the folder anew.");
        var top = TopOf(entries.ConvertAll(e => e.Name));
        return entries.ConvertAll(e => new SideFile(e.Name[top.Length..], e.Length, () => Open(e.Name)));
    }

    public void Dispose()
    {
        while (idle.TryTake(out var zip))
            zip.Dispose();
    }

    private static string TopOf(List<string> names)
    {
        var slash = names.Count == 0 ? -1 : names[0].IndexOf('/', StringComparison.Ordinal);
        var top = names.Count == 0 ? "" : names[0][..(slash + 1)];
        return names.TrueForAll(n => n.StartsWith(top, StringComparison.Ordinal) && n.Length > top.Length) ? top : "";
    }

    private ZipArchive Take()
    {
        if (idle.TryTake(out var zip))
            return zip;
        try
        {
            return ZipFile.Open(path, ZipArchiveMode.Read, Encoding.UTF8);
        }
        catch (InvalidDataException e)
        {
            throw new CouldNotRunException($"{path} can't be read as a zip: it is cut off, damaged, or another kind of file.", e);
        }
    }

    private EntryReading Open(string name)
    {
        var zip = Take();
        try
        {
            return new EntryReading(zip.GetEntry(name)!.Open(), () => idle.Add(zip));
        }
        catch
        {
            idle.Add(zip);
            throw;
        }
    }

    /// <summary>A file's bytes, forwards; gives its zip reader back at the end.</summary>
    private sealed class EntryReading(Stream bytes, Action giveBack) : Stream
    {
        private bool isOpen = true;

        public override int Read(Span<byte> buffer) => bytes.Read(buffer);
        public override int Read(byte[] buffer, int offset, int count) => bytes.Read(buffer, offset, count);

        protected override void Dispose(bool disposing)
        {
            if (disposing && isOpen)
            {
                isOpen = false;
                bytes.Dispose();
                giveBack();
            }
            base.Dispose(disposing);
        }

        public override bool CanRead => isOpen;
        public override bool CanSeek => false;
        public override bool CanWrite => false;
        public override long Length => throw new NotSupportedException();
        public override long Position { get => throw new NotSupportedException(); set => throw new NotSupportedException(); }
        public override void Flush() { }
        public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();
        public override void SetLength(long value) => throw new NotSupportedException();
        public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();
    }
}
