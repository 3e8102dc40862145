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
            Directory.CreateDirectory(places.New);
            Directory.CreateDirectory(places.Old);
        }
        File.WriteAllText(Path.Combine(places.Old, "my song.txt"), "mine");

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
}
