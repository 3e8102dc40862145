using System.Globalization;
using System.IO.Compression;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using LibraryShelf.Core.Persons;

namespace LibraryShelf.Web.Pages.Members;

/// <summary>What is kept about somebody, as files to take along: one JSON text, or a zip with a CSV for each table. Instants are ISO 8601 in UTC.</summary>
internal static class MyDataFiles
{
    /// <summary>An object with a list of objects for each table, named as <see cref="MyTable.Name"/> says.</summary>
    public static byte[] Json(MyData data)
    {
        using var bytes = new MemoryStream();
        using (var json = new Utf8JsonWriter(bytes, new JsonWriterOptions { Indented = true, NewLine = "\n", Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping }))
        {
            json.WriteStartObject();
            json.WriteString("address", data.Email);
            json.WriteString("madeAt", Instant(data.MadeAt));
            foreach (var table in data.Tables)
                Write(json, table);
            json.WriteEndObject();
        }
        return bytes.ToArray();
    }

    /// <summary>UTF-8 without a mark, RFC 4180, the names of the columns in the first line. Empty tables have their file too.</summary>
    public static byte[] Zip(MyData data)
    {
        using var bytes = new MemoryStream();
        using (var zip = new ZipArchive(bytes, ZipArchiveMode.Create, leaveOpen: true))
        {
            foreach (var table in data.Tables)
            {
                var entry = zip.CreateEntry(table.Name + ".csv");
                entry.LastWriteTime = data.MadeAt;
                using var stream = entry.Open();
                stream.Write(Encoding.UTF8.GetBytes(Csv(table)));
            }
        }
        return bytes.ToArray();
    }

    public static string Csv(MyTable table)
    {
        var text = new StringBuilder().AppendJoin(',', table.Columns).Append("\r\n");
        foreach (var row in table.Rows)
            text.AppendJoin(',', row.Select(Cell)).Append("\r\n");
        return text.ToString();
    }

    private static void Write(Utf8JsonWriter json, MyTable table)
    {
        json.WriteStartArray(table.Name);
        foreach (var row in table.Rows)
        {
            json.WriteStartObject();
            foreach (var (name, value) in table.Columns.Zip(row))
            {
                json.WritePropertyName(name);
                Value(json, value);
            }
            json.WriteEndObject();
        }
        json.WriteEndArray();
    }

    private static void Value(Utf8JsonWriter json, object? value)
    {
        switch (value)
        {
            case null: json.WriteNullValue(); break;
            case bool yes: json.WriteBooleanValue(yes); break;
            case int or long: json.WriteNumberValue(Convert.ToInt64(value, CultureInfo.InvariantCulture)); break;
            case DateTimeOffset instant: json.WriteStringValue(Instant(instant)); break;
            default: json.WriteStringValue((string)value); break;
        }
    }

    private static string Cell(object? value) => value switch
    {
        null => "",
        bool yes => yes ? "true" : "false",
        int or long => Convert.ToString(value, CultureInfo.InvariantCulture)!,
        DateTimeOffset instant => Instant(instant),
        _ => Pages.Words.Csv.Text((string)value),
    };

    private static string Instant(DateTimeOffset instant) => instant.UtcDateTime.ToString("yyyy-MM-dd'T'HH:mm:ss.fff'Z'", CultureInfo.InvariantCulture);
}
