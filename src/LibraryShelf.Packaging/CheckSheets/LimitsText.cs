using System.Text;
using System.Text.Json;

namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>
/// Limits as JSON, schema libraryshelf/limits/1: <c>{"schema":"libraryshelf/limits/1","longestLeadInMs":30}</c>. What is not named keeps its
/// default, so that a better default reaches libraries whose maker never chose.
/// </summary>
public static class LimitsText
{
    public static string Schema => "libraryshelf/limits/1";

    /// <summary>Reads <paramref name="json"/> ("" is all defaults). False with one sentence when it is not of this schema, or a limit is unknown or out of bounds.</summary>
    public static bool TryRead(string json, out LibraryLimits limits, out string why)
    {
        ArgumentNullException.ThrowIfNull(json);
        (limits, why) = (LibraryLimits.Default, "");
        if (json.Length == 0)
            return true;
        try
        {
            using var document = JsonDocument.Parse(json);
            why = document.RootElement.ValueKind == JsonValueKind.Object ? Read(document.RootElement, ref limits) : T("it is no JSON object.");
        }
        catch (JsonException e)
        {
            why = T($"it is no JSON: {e.Message}");
        }
        if (why.Length > 0)
            limits = LibraryLimits.Default;
        return why.Length == 0;
    }

    /// <summary>Only what differs from the defaults; "" when nothing does.</summary>
    public static string Write(LibraryLimits limits)
    {
        ArgumentNullException.ThrowIfNull(limits);
        var chosen = Limit.All.Where(l => !l.Get(limits).Equals(l.Get(LibraryLimits.Default))).ToList();
        if (chosen.Count == 0)
            return "";
        using var bytes = new MemoryStream();
        using (var writer = new Utf8JsonWriter(bytes))
        {
            writer.WriteStartObject();
            writer.WriteString("schema", Schema);
            foreach (var limit in chosen)
                writer.WriteNumber(limit.Name, limit.Get(limits));
            writer.WriteEndObject();
        }
        return Encoding.UTF8.GetString(bytes.ToArray());
    }

    private static string Read(JsonElement root, ref LibraryLimits limits)
    {
        if (!root.TryGetProperty("schema", out var schema) || schema.ValueKind != JsonValueKind.String || schema.GetString() != Schema)
            return T($"its schema is not {Schema}.");
        foreach (var property in root.EnumerateObject().Where(p => p.Name != "schema"))
        {
            if (Limit.All.FirstOrDefault(l => l.Name == property.Name) is not { } limit)
                return T($"there is no limit {Words.Quote(property.Name)}. There are {string.Join(", ", Limit.All.Select(l => l.Name))}.");
            if (property.Value.ValueKind != JsonValueKind.Number || !property.Value.TryGetDouble(out var value))
                return T($"{limit.Name} is no number.");
            if (limit.WhyRefused(value) is { } refused)
                return refused;
            limits = limit.With(limits, value);
        }
        return "";
    }
}
