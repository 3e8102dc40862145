using System.Buffers.Binary;
using System.Text;
using LibraryShelf.Web.Setup.Demo.Sounds;

namespace LibraryShelf.Web.Setup.Demo.Folders;

/// <summary>A mapping in an invented player's own format: only Pondskater could read it, so the shelf keeps it and says so.</summary>
internal static class PlayerFile
{
    private const int BytesPerRegion = 24;

    public static byte[] Write(string slug, string number, int regions)
    {
        var chance = SplitMix.For($"{slug}/{number}/pond");
        var head = Encoding.ASCII.GetBytes("PONDMAP\u0003");
        var file = new byte[head.Length + 4 + (regions * BytesPerRegion)];
        head.CopyTo(file, 0);
        BinaryPrimitives.WriteInt32LittleEndian(file.AsSpan(head.Length), regions);
        for (var at = head.Length + 4; at + 8 <= file.Length; at += 8)
            BinaryPrimitives.WriteUInt64LittleEndian(file.AsSpan(at), chance.Next());
        return file;
    }
}
