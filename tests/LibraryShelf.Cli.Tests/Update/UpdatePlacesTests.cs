using LibraryShelf.Cli.Output;
using LibraryShelf.Cli.Update;

namespace LibraryShelf.Cli.Tests.Update;

public sealed class UpdatePlacesTests : IDisposable
{
    private readonly string parent = Directory.CreateTempSubdirectory("places-").FullName;

    public void Dispose() => Directory.Delete(parent, recursive: true);

    [Fact]
    public void A_folder_made_anew_after_a_cut_between_two_renames_costs_nobody_the_old_one()
    {
        var folder = Path.Combine(parent, "Kettle");
        UpdatePlaces places;
        using (places = UpdatePlaces.Take(folder))
        {
            Directory.CreateDirectory(folder);
            File.WriteAllText(Path.Combine(folder, "my song.txt"), "mine");
            Directory.CreateDirectory(places.New);
            Assert.Throws<TimeoutException>(() => places.Exchange(atOnce: false, () => throw new TimeoutException("stands for a kill")));
        }

        // She unzips the library there again, and updates.
        Directory.CreateDirectory(folder);
        var refused = Assert.Throws<CouldNotRunException>(() => UpdatePlaces.Take(folder));
        Assert.Contains(places.Old, refused.Message, StringComparison.Ordinal);
        Assert.Equal("mine", File.ReadAllText(Path.Combine(places.Old, "my song.txt")));

        // Not made anew, the old folder goes back to its name.
        Directory.Delete(folder);
        using (UpdatePlaces.Take(folder))
            Assert.Equal("mine", File.ReadAllText(Path.Combine(folder, "my song.txt")));
        Assert.False(Directory.Exists(places.New));
    }

    /// <summary>As on Windows, where a file that is held open can't be deleted; run here, because the order is the same code.</summary>
    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void The_note_goes_whichever_of_release_and_removal_comes_first(bool releasesFirst)
    {
        var folder = Path.Combine(parent, "Kettle");
        using (var note = UpdateNote.Take(folder))
            note.Write(UpdatePhase.Exchanging);
        Assert.True(UpdatePlaces.AreLeft(folder));
        var held = UpdateNote.Take(folder);
        Assert.Equal(UpdatePhase.Exchanging, held.Phase);
        Assert.Contains("another `shelf update`", Assert.Throws<CouldNotRunException>(() => UpdateNote.Take(folder)).Message, StringComparison.Ordinal);
        held.ReleasesFirst = releasesFirst;
        held.Remove();
        Assert.False(UpdatePlaces.AreLeft(folder));
    }

    [Theory]
    [InlineData("libraryshelf/updat", "Fresh")]
    [InlineData("libraryshelf/updating/1\nexch", "Building")]
    [InlineData("libraryshelf/updating/1\nexchanging\ntidy", "Exchanging")]
    public void A_note_cut_short_by_a_kill_says_the_phase_before(string written, string phase)
    {
        var folder = Path.Combine(parent, "Kettle");
        File.WriteAllText(UpdateNote.PathOf(folder), written);
        using var note = UpdateNote.Take(folder);
        Assert.Equal(phase, note.Phase.ToString());
    }
}
