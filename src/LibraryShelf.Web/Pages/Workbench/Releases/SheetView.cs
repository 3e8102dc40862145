using Microsoft.AspNetCore.Http.Extensions;
using LibraryShelf.Core.Checking;
using Microsoft.AspNetCore.Mvc;

namespace LibraryShelf.Web.Pages.Workbench.Releases;

/// <summary>What of a sheet is looked at, as its address says; what it does not say is the usual.</summary>
public sealed record SheetView
{
    /// <summary>Only recordings of this verdict; null: all that are not fine, and how many are.</summary>
    [FromQuery(Name = "verdict")] public SheetVerdict? Verdict { get; init; }

    /// <summary>A key's name, or a part of a path; empty: all.</summary>
    [FromQuery(Name = "find")] public string? Find { get; init; }

    /// <summary>A column, with "-" before it for downwards; null: worst first.</summary>
    [FromQuery(Name = "sort")] public string? Sort { get; init; }

    /// <summary>Fine recordings too.</summary>
    [FromQuery(Name = "all")] public bool All { get; init; }

    /// <summary>From 1.</summary>
    [FromQuery(Name = "at")] public int Page { get; init; } = 1;

    /// <summary>Of the picture: one way of playing, one microphone.</summary>
    [FromQuery(Name = "way")] public string? Way { get; init; }

    [FromQuery(Name = "mic")] public string? Mic { get; init; }

    /// <summary>The query string of this view, "" for the usual one.</summary>
    public string Query
    {
        get
        {
            var query = new QueryBuilder();
            if (Verdict is { } verdict) query.Add("verdict", verdict.ToString());
            if (!string.IsNullOrEmpty(Find)) query.Add("find", Find);
            if (!string.IsNullOrEmpty(Sort)) query.Add("sort", Sort);
            if (All) query.Add("all", "true");
            if (Page > 1) query.Add("at", Page.ToString(System.Globalization.CultureInfo.InvariantCulture));
            if (Way is not null) query.Add("way", Way);
            if (Mic is not null) query.Add("mic", Mic);
            return query.ToString();
        }
    }
}
