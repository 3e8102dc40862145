using LibraryShelf.Web.Setup.Demo;

namespace LibraryShelf.Web.Tests.Setup.Demo;

public sealed class DemoFolderTests : IDisposable
{
    private readonly string _root = Path.Combine(Path.GetTempPath(), "shelf-demo-" + Guid.NewGuid().ToString("N"));

    [Fact]
    public void A_new_folder_is_filled_and_then_used_as_it_is()
    {
        using (var first = DemoFolder.Open(_root))
        {
            Assert.Equal(DemoFolderState.ToFill, first.State);
            Put("shelf.db");
            first.Finish();
        }
        using var second = DemoFolder.Open(_root);
        Assert.Equal(DemoFolderState.Ready, second.State);
        Assert.True(File.Exists(In("shelf.db")));
    }

    [Fact]
    public void One_left_half_way_is_begun_anew()
    {
        using (DemoFolder.Open(_root))
            Put("blobs/ab/half");
        using var again = DemoFolder.Open(_root);
        Assert.Equal(DemoFolderState.ToFill, again.State);
        Assert.False(Directory.Exists(In("blobs")));
        Assert.True(File.Exists(In(DemoFolder.MarkerName)));
    }

    [Fact]
    public void A_folder_without_the_marker_is_never_touched()
    {
        Put("shelf.db");
        using var folder = DemoFolder.Open(_root);
        Assert.Equal(DemoFolderState.NotOurs, folder.State);
        Assert.Equal([In("shelf.db")], Directory.GetFileSystemEntries(_root));
    }

    [Fact]
    public void Two_starts_do_not_fill_it_together()
    {
        using var first = DemoFolder.Open(_root);
        Put("shelf.db");
        using var second = DemoFolder.Open(_root);
        Assert.Equal(DemoFolderState.Busy, second.State);
        Assert.True(File.Exists(In("shelf.db")));
    }

    public void Dispose()
    {
        if (Directory.Exists(_root))
            Directory.Delete(_root, recursive: true);
    }

    private string In(string path) => Path.Combine(_root, path);

    private void Put(string path)
    {
        Directory.CreateDirectory(Path.GetDirectoryName(In(path))!);
        File.WriteAllText(In(path), "something");
    }
}
