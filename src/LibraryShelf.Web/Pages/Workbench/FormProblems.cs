using System.Text.Encodings.Web;
using System.Text.RegularExpressions;
using LibraryShelf.Core.Shared;
using LibraryShelf.Web.Pages.Shared;
using Microsoft.AspNetCore.Html;

namespace LibraryShelf.Web.Pages.Workbench;

/// <summary>What was wrong with a sent form: shown above it as a summary of links, and beside each field it is about.</summary>
public sealed partial class FormProblems(string whatHappened, IReadOnlyList<Refusal> refusals)
{
    /// <summary>A form that has not been sent, or was fine.</summary>
    public static FormProblems None { get; } = new("", []);

    /// <summary>A sentence about the whole: what happened and what is kept.</summary>
    public string WhatHappened { get; } = whatHappened;

    public IReadOnlyList<Refusal> Refusals { get; } = refusals;

    public bool Any => Refusals.Count > 0;

    public static FormProblems NotSaved(IReadOnlyList<Refusal> refusals) =>
        new FormProblems(T("Nothing was saved yet. What you typed is kept below."), refusals);

    /// <summary>Another form was saved since this one was opened: what was typed stays, and saving again puts it in the other's place.</summary>
    public static FormProblems SavedElsewhere(string address) =>
        new FormProblems(T("These words were saved elsewhere since you opened them, so nothing was saved now. What you typed is kept below."),
            [new Refusal("", T($"Look at {address} in another tab for what stands now. Save again to put your words in its place."))]);

    /// <summary>For a press that met another change at the same moment, again and again.</summary>
    public static FormProblems ChangedMeanwhile(string whatHappened) =>
        new FormProblems(whatHappened, [new Refusal("", T("It was being changed elsewhere at the same moment. Nothing of that was undone. Look at it, then press again."))]);

    /// <summary>The id of a field's input: "Players[0].Name" has "players-0-name".</summary>
    public static string IdOf(string field) => NotPlain.Replace(field, "-").Trim('-').ToLowerInvariant();

    /// <summary>"true" for aria-invalid; null (no attribute) when the field is fine.</summary>
    public string? Invalid(string field) => Of(field) is null ? null : "true";

    /// <summary>For aria-describedby: the hint's id, the error's, both, or null.</summary>
    public string? DescribedBy(string field, bool hasHint = false)
    {
        var ids = new[] { hasHint ? IdOf(field) + "-hint" : null, Of(field) is null ? null : IdOf(field) + "-error" };
        return string.Join(' ', ids.OfType<string>()) is { Length: > 0 } text ? text : null;
    }

    /// <summary>The message beside a field; nothing when it is fine.</summary>
    public IHtmlContent Beside(string field)
    {
        if (Of(field) is not { } words)
            return HtmlString.Empty;
        return new HtmlContentBuilder()
            .AppendHtml($"<p class=\"field-error\" id=\"{IdOf(field)}-error\">").AppendHtml(Icon.MustFix)
            .AppendHtml("<span>").AppendHtml(HtmlEncoder.Default.Encode(words)).AppendHtml("</span></p>");
    }

    private string? Of(string field) => Refusals.FirstOrDefault(r => r.Field == field)?.Words;

    [GeneratedRegex("[^A-Za-z0-9]+", RegexOptions.NonBacktracking)]
    private static partial Regex NotPlain { get; }
}
