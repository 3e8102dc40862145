namespace LibraryShelf.Core.Catalog;

/// <summary>Where a release stands. Early and scheduled are reserved for chosen members and monthly drops.</summary>
public enum ReleaseState { Draft, Checked, Sealed, Early, Scheduled, Published, Withdrawn }
