using System.Text;
using System.Xml;

namespace LibraryShelf.Web.Endpoints;

/// <summary>XML documents from people's words.</summary>
internal static class PlainXml
{
    public static byte[] Write(Action<XmlWriter> write)
    {
        using var bytes = new MemoryStream();
        var settings = new XmlWriterSettings { Encoding = new UTF8Encoding(encoderShouldEmitUTF8Identifier: false), Indent = true, NewLineChars = "\n" };
        using (var writer = XmlWriter.Create(bytes, settings))
            write(writer);
        return bytes.ToArray();
    }

    /// <summary>Without what XML 1.0 can't say at all (§2.2: most control characters, halves of pairs); the writer escapes the rest.</summary>
    public static string Sayable(string words)
    {
        var kept = new StringBuilder(words.Length);
        foreach (var rune in words.EnumerateRunes())
        {
            var isSayable = rune.Value is '\t' or '\n' or '\r' or (>= 0x20 and not (0xFFFE or 0xFFFF));
            if (isSayable) kept.Append(rune.ToString());
        }
        return kept.ToString();
    }
}
