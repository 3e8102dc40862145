namespace LibraryShelf.Core.Persons;

/// <summary>
/// Everything the shelf keeps about one person, table by table, in words and figures that can be read without the shelf. Tokens, hashes and
/// the rows' own numbers are left out: they say nothing about anybody.
/// </summary>
public sealed record MyData(string Email, DateTimeOffset MadeAt, IReadOnlyList<MyTable> Tables);

/// <summary>One kind of thing that is kept.</summary>
/// <param name="Name">Of the table's file, and its key in JSON: "paid-memberships".</param>
/// <param name="Title">As a heading: "Paid memberships".</param>
/// <param name="Why">What it is kept for, one sentence.</param>
/// <param name="Columns">Keys in JSON and header of the CSV, camel case; one for each cell of a row.</param>
/// <param name="Rows">Cells are text, whole numbers, yes or no, instants, or null where nothing is known. Oldest first.</param>
public sealed record MyTable(string Name, string Title, string Why, IReadOnlyList<string> Columns, IReadOnlyList<IReadOnlyList<object?>> Rows);
