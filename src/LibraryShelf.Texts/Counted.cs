namespace LibraryShelf.Texts;

/// <summary>So many of something in words, "3 recordings": a text like any other, but where it fills a hole its number chooses the form of the sentence.</summary>
public readonly record struct Counted(long Count, string Words)
{
    public static implicit operator string(Counted counted) => counted.Words;

    public override string ToString() => Words;
}
