namespace LibraryShelf.Core.Catalog;

/// <summary>The paint of a box, in the order in which defaults go round.</summary>
public enum Paint { Bottle, Samphire, Zinc, Night, Chalk, Tar, Thrift, Oxide, Sky, Weed }
