using LibraryShelf.Adapters.Storage;
using LibraryShelf.Core.Alerts;
using LibraryShelf.Core.Intake;
using LibraryShelf.Core.Storage;
using LibraryShelf.Core.Upkeep;

namespace LibraryShelf.Web.Setup;

internal static class StorageSetup
{
    public static void AddShelfStorage(this WebApplicationBuilder builder)
    {
        builder.Services.AddSingleton<IBlobStore, DiskBlobStore>();
        builder.Services.AddSingleton<IBlobFolders, DiskBlobFolders>();
        builder.Services.AddSingleton<UploadDesk>();
        builder.Services.AddSingleton<IDiskRoom, DiskRoomOfSystem>();
        builder.Services.AddSingleton<DiskReserve>();
    }
}
