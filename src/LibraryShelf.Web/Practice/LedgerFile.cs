using System.Text.Json;

namespace LibraryShelf.Web.Practice;

/// <summary>The ledger's one file. A half-written one never takes the place of a whole one: written beside, flushed to the disk, then renamed.</summary>
internal sealed class LedgerFile(string path)
{
    private static readonly JsonSerializerOptions Shape = new() { WriteIndented = true };

    private string? written;

    public Ledger Read()
    {
        if (!File.Exists(path))
            return new Ledger();
        try
        {
            using var file = File.OpenRead(path);
            return JsonSerializer.Deserialize<Ledger>(file, Shape) ?? new Ledger();
        }
        catch (JsonException broken)
        {
            throw new InvalidOperationException(
                $"The practice ledger {path} can’t be read. Nothing was changed. Move it away to begin practising anew; the shelf itself is not touched.", broken);
        }
    }

    /// <summary>Writes only what differs from the last written.</summary>
    public void Keep(Ledger ledger)
    {
        var text = JsonSerializer.Serialize(ledger, Shape);
        if (text == written)
            return;
        Directory.CreateDirectory(Path.GetDirectoryName(path)!);
        var beside = path + ".new";
        using (var file = new FileStream(beside, FileMode.Create, FileAccess.Write))
        {
            file.Write(System.Text.Encoding.UTF8.GetBytes(text));
            file.Flush(flushToDisk: true);
        }
        File.Move(beside, path, overwrite: true);
        written = text;
    }
}
