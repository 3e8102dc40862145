namespace LibraryShelf.Core.Downloads;

/// <summary>
/// What is kept of a visitor who presses a download button without being signed in. Nothing of it says who it is: <see cref="Statistics.VisitorKeys"/>.
/// </summary>
/// <param name="Visitor">See <see cref="Download.Visitor"/>; null: not known.</param>
/// <param name="IsRobot">See <see cref="Download.IsRobot"/>.</param>
public sealed record WhoAsks(string? Visitor, bool IsRobot);
