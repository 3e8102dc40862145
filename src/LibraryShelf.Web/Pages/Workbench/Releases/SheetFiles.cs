using System.Globalization;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Serialization;
using LibraryShelf.Audio;
using LibraryShelf.Core.Checking;
using LibraryShelf.Packaging.CheckSheets;
using LibraryShelf.Web.Pages.Words;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>A sheet as files: CSV for spreadsheets, and the JSON that `shelf check --json` prints.</summary>
internal static class SheetFiles
{
    private static readonly JsonSerializerOptions Shape = new(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        NewLine = "\n",
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.KebabCaseLower) },
    };

    private const string Head =
        "verdict,recording,path,note,layer,take,way,microphone,lift,pitch_cents_estimate,peak_dbfs,true_peak_dbtp,loudest_400_ms_lufs,loudness_lufs,"
        + "noise_floor_dbfs,lead_in_ms,attack_ms,decay_20_db_ms,decay_60_db_ms,tail_dbfs,brightness_hz,clipped_places,findings,excused,sha256\r\n";

    /// <summary>A line a recording, worst first, then a line for each finding about the library; what was not measured is empty.</summary>
    public static string Csv(SheetReading sheet)
    {
        var words = new SheetWords(sheet);
        var text = new StringBuilder(Head);
        foreach (var recording in sheet.Recordings.OrderBy(r => r.Verdict))
            text.AppendJoin(',', Line(sheet, recording, words)).Append("\r\n");
        foreach (var finding in sheet.LibraryFindings)
            text.Append(CultureInfo.InvariantCulture, $"{Verdict(SheetTally.VerdictOf(finding))},,{Pages.Words.Csv.Text(finding.Path ?? "")},{new string(',', 19)}{Pages.Words.Csv.Text(finding.Message)},{Pages.Words.Csv.Text(finding.ExcuseReason ?? "")},\r\n");
        return text.ToString();
    }

    /// <summary>Schema libraryshelf/check/1. Excused findings are left out: they no longer hold anything up.</summary>
    public static string Json(SheetReading sheet)
    {
        var release = sheet.Release;
        var json = CheckJson.Of(
            [.. sheet.Recordings.Select(r => new MeasuredRecording(r.Path, r.Sha256, r.Facts ?? new RecordingFacts()))],
            [.. sheet.Findings.Where(f => f.ExcuseReason is null).Select(f => new Finding(f.Code, f.Severity, f.Path, f.Message))],
            new LibraryCount(
                release.Recordings, release.Keys, release.LowestKey, release.HighestKey, release.Layers, release.Takes,
                release.Articulations.Split(',', StringSplitOptions.RemoveEmptyEntries)),
            sheet.Recordings.Select(r => r.Place).OfType<RecordingPlace>());
        return JsonSerializer.Serialize(json, Shape);
    }

    private static IEnumerable<string> Line(SheetReading sheet, SheetRecording recording, SheetWords words)
    {
        var (place, facts) = (recording.Place, recording.Facts);
        return
        [
            Verdict(recording.Verdict), Pages.Words.Csv.Text(words.Of(recording)), Pages.Words.Csv.Text(recording.Path),
            place?.Note is { } note ? Pages.Words.Csv.Text(words.Note(note)) : "", Number(place?.Layer), Number(place?.Take),
            Pages.Words.Csv.Text(place?.Articulation ?? ""), Pages.Words.Csv.Text(place?.Microphone ?? ""), place?.IsLift == true ? "lift" : "",
            Number(SheetWords.Cents(recording, sheet.Release.Library.IsPitched)), Number(facts?.SamplePeakDbfs), Number(facts?.TruePeakDbtp),
            Number(facts?.MomentaryMaxLufs), Number(facts?.LoudnessLufs), Number(facts?.NoiseFloorDbfs), Number(facts?.LeadInMs), Number(facts?.AttackMs),
            Number(facts?.Decay20Ms), Number(facts?.Decay60Ms), Number(facts?.TailDbfs), Number(facts?.BrightnessHz), Number(facts?.ClippedRuns),
            Pages.Words.Csv.Text(string.Join(" ", recording.Findings.Select(f => f.Message))),
            Pages.Words.Csv.Text(string.Join("; ", recording.Findings.Select(f => f.ExcuseReason).OfType<string>())), recording.Sha256,
        ];
    }

    /// <summary>The same in every language, for who sorts by it.</summary>
    private static string Verdict(SheetVerdict verdict) => verdict switch
    {
        SheetVerdict.MustFix => "Must fix",
        SheetVerdict.ListenAgain => "Listen again",
        SheetVerdict.Excused => "Excused",
        _ => "Fine",
    };

    private static string Number(double? value) =>
        value is { } number && double.IsFinite(number) ? (Math.Round(number, 2) + 0.0).ToString("0.##", CultureInfo.InvariantCulture) : "";
}
