using System.CommandLine;
using System.Text.Json;
using System.Text.Json.Serialization.Metadata;

namespace LibraryShelf.Cli.Output;

/// <summary>
/// Where a command speaks: results on the output stream, troubles and progress on the error stream. Progress is drawn on a
/// terminal only, so that a pipe or a log holds nothing but results.
/// </summary>
internal sealed class ShelfConsole(TextWriter output, TextWriter error, bool errorIsTerminal)
{
    public TextWriter Out { get; } = output;
    public TextWriter Error { get; } = error;

    /// <summary>
    /// What goes into a file or a pipe is written in one piece at the end (<see cref="FlushAsync"/>), not line by line: a check may have found hundreds.
    /// </summary>
    public static ShelfConsole ForThisProcess() => new(
        Console.IsOutputRedirected ? TextWriter.Synchronized(new StreamWriter(Console.OpenStandardOutput(), Console.Out.Encoding, 1 << 16)) : Console.Out,
        Console.Error, !Console.IsErrorRedirected);

    /// <summary>The option every command offers: the result as one JSON document on the output stream.</summary>
    public static Option<bool> JsonOption() => new("--json") { Description = "Print the result as JSON." };

    /// <summary>To be called at the end, whatever the end is.</summary>
    public Task FlushAsync() => Out.FlushAsync();

    public void Say(string line) => Out.WriteLine(line);

    /// <summary>Prints a result whose first property is its schema, such as "libraryshelf/pack/1".</summary>
    public void Json<T>(T result, JsonTypeInfo<T> shape) => Out.WriteLine(JsonSerializer.Serialize(result, shape));

    /// <summary>A remark that is neither result nor failure; kept off the output stream.</summary>
    public void Remark(string line) => Error.WriteLine("shelf: " + line);

    /// <summary>Says why the command could not run; answers exit code 2.</summary>
    public int Refuse(string why)
    {
        Error.WriteLine("shelf: " + why);
        return ExitCodes.CouldNotRun;
    }

    /// <summary>A progress line for <paramref name="total"/> units (bytes, mostly); silent when nobody is looking.</summary>
    public Progress StartProgress(string what, long total) => new(errorIsTerminal ? Error : null, what, total, TimeProvider.System);

    /// <summary>Runs a command's work and turns the failures a person can mend into a clear line and exit code 2.</summary>
    public async Task<int> GuardAsync(Func<Task<int>> work)
    {
        try
        {
            return await work();
        }
        catch (CouldNotRunException e)
        {
            return Refuse(e.Message);
        }
        catch (OperationCanceledException)
        {
            return Refuse("stopped before it was done; nothing unfinished was kept.");
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or HttpRequestException)
        {
            return Refuse(e.Message);
        }
    }
}
