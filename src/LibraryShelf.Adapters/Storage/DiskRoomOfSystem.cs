using LibraryShelf.Core.Alerts;

namespace LibraryShelf.Adapters.Storage;

/// <summary>Asks the operating system; a link or a mount on the way is followed to the volume behind it.</summary>
public sealed class DiskRoomOfSystem : IDiskRoom
{
    public DiskRoom? Of(string folder)
    {
        try
        {
            var drive = new DriveInfo(folder);
            return new DiskRoom(drive.TotalSize, drive.AvailableFreeSpace);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException)
        {
            return null;
        }
    }
}
