using LibraryShelf.Core.Statistics.Members;

namespace LibraryShelf.Web.Pages.Workbench.Numbers;

/// <summary>The last year of members and all drops, read once for a page that shows several pictures of them.</summary>
public sealed class MemberFiguresView(ReadMemberNumbers readMembers, ReadDropUptakes readDrops)
{
    private Task<MemberNumbers>? _members;
    private Task<DropNumbers>? _drops;

    public Task<MemberNumbers> MembersAsync(CancellationToken cancellationToken) => _members ??= readMembers.RunAsync(null, null, cancellationToken);

    public Task<DropNumbers> DropsAsync(CancellationToken cancellationToken) => _drops ??= readDrops.RunAsync(null, null, cancellationToken);
}
