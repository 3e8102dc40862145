namespace LibraryShelf.Packaging.CheckSheets;

/// <summary>How much a finding matters. A must-fix blocks sealing until it is mended or excused with a reason.</summary>
public enum Severity { MustFix, ListenAgain, Fine }
