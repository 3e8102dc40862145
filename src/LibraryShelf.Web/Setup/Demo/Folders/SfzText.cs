using System.Text;

namespace LibraryShelf.Web.Setup.Demo.Folders;

/// <summary>Writes a mapping in SFZ version 1: opcodes of that version only, one region a line, paths relative to the file.</summary>
internal static class SfzText
{
    public static string Write(string title, string number, string way, bool isPitched, IEnumerable<MappedRecording> regions)
    {
        var text = new StringBuilder();
        text.Append($"// {title} {number}: {way}\n");
        text.Append("// Invented for the practice shop. SFZ version 1.\n");
        foreach (var group in regions.GroupBy(r => (r.IsLift, r.LowVelocity, r.HighVelocity)).OrderBy(g => g.Key))
        {
            text.Append("\n<group>");
            text.Append(group.Key.IsLift
                ? " trigger=release"
                : $" lovel={group.Key.LowVelocity} hivel={group.Key.HighVelocity}{Sustain(isPitched, group.First().Loops)}");
            text.Append('\n');
            foreach (var region in group.OrderBy(r => r.Key).ThenBy(r => r.Take))
                text.Append(Line(region)).Append('\n');
        }
        return text.ToString();
    }

    private static string Sustain(bool isPitched, bool loops) => (isPitched, loops) switch
    {
        (false, _) => " loop_mode=one_shot",
        (_, true) => " loop_mode=loop_continuous ampeg_release=0.15",
        _ => " ampeg_release=0.4",
    };

    private static string Line(MappedRecording region)
    {
        var keys = region.LowKey == region.HighKey
            ? $"key={region.Key}"
            : $"lokey={region.LowKey} hikey={region.HighKey} pitch_keycenter={region.Key}";
        var takes = region.Takes > 1 ? $" seq_length={region.Takes} seq_position={region.Take}" : "";
        return $"<region> {keys}{takes} sample={region.Path}";
    }
}
