namespace LibraryShelf.Web.Setup;

/// <summary>
/// What the platform may log, whatever the settings say. Below a warning it writes down addresses, and addresses here carry rights:
/// signed links, sign-in and claim tokens. The rule stands in code, so that a log turned up to look for a fault gives none away.
/// </summary>
internal static class LogRules
{
    /// <summary>Categories of the platform that write addresses, form values or what passes the wire.</summary>
    private static readonly string[] Talkative = ["Microsoft.AspNetCore", "Microsoft.EntityFrameworkCore", "Hangfire", "System.Net.Http"];

    public static void AddShelfLogRules(this WebApplicationBuilder builder) => builder.Services.PostConfigure<LoggerFilterOptions>(o =>
    {
        for (var i = 0; i < o.Rules.Count; i++)
        {
            var rule = o.Rules[i];
            if (IsTalkative(rule.CategoryName) && (rule.LogLevel is null || rule.LogLevel < LogLevel.Warning || rule.Filter is not null))
                o.Rules[i] = new LoggerFilterRule(rule.ProviderName, rule.CategoryName, LogLevel.Warning, filter: null);
        }
        // One for each way of logging that has rules of its own, which would go before a rule for all.
        string?[] providers = [null, .. o.Rules.Select(r => r.ProviderName).OfType<string>().Distinct(StringComparer.Ordinal)];
        foreach (var provider in providers)
        {
            foreach (var category in Talkative.Where(c => !o.Rules.Any(r => r.ProviderName == provider && r.CategoryName == c)))
                o.Rules.Add(new LoggerFilterRule(provider, category, LogLevel.Warning, filter: null));
        }
    });

    private static bool IsTalkative(string? category) =>
        category is not null && Array.Exists(Talkative, t => category.StartsWith(t, StringComparison.OrdinalIgnoreCase));
}
