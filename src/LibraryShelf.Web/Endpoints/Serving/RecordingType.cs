namespace LibraryShelf.Web.Endpoints.Serving;

/// <summary>The media type of a recording, by its name alone.</summary>
internal static class RecordingType
{
    public static string Of(string path) => Path.GetExtension(path).ToLowerInvariant() switch
    {
        ".wav" or ".wave" or ".bwf" or ".rf64" => "audio/wav",
        ".aif" or ".aiff" or ".aifc" => "audio/aiff",
        ".flac" => "audio/flac",
        ".ogg" or ".oga" or ".opus" => "audio/ogg",
        ".mp3" => "audio/mpeg",
        ".m4a" => "audio/mp4",
        ".caf" => "audio/x-caf",
        _ => "application/octet-stream",
    };
}
