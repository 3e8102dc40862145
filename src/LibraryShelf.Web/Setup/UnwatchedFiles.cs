using Microsoft.Extensions.FileProviders;
using Microsoft.Extensions.Primitives;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// The program's own page assets, which change only with the program: not watched, because Linux gives a user 128 watchers in all
/// (fs.inotify.max_user_instances), and a page must not break when others have used them up.
/// </summary>
internal sealed class UnwatchedFiles(IFileProvider files) : IFileProvider
{
    public IDirectoryContents GetDirectoryContents(string subpath) => files.GetDirectoryContents(subpath);

    public IFileInfo GetFileInfo(string subpath) => files.GetFileInfo(subpath);

    public IChangeToken Watch(string filter) => NullChangeToken.Singleton;
}
