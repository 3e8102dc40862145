using LibraryShelf.Core.Data;
using NetArchTest.Rules;

namespace LibraryShelf.Architecture.Tests;

/// <summary>The steps inside Core: every folder is a known one, and no step calls a step after it.</summary>
public sealed class StepTests
{
    private const string Root = "LibraryShelf.Core.";

    /// <summary>Folders that are not steps: the database sees all entities, the settings are seen by all.</summary>
    private static readonly string[] NotSteps = ["Data", "Shared"];

    /// <summary>
    /// For each step, the steps after it, which it must not call. Entities are rows of one database and may name each other's
    /// enums; a verb may read earlier steps' tables.
    /// </summary>
    private static readonly Dictionary<string, string[]> Later = new(StringComparer.Ordinal)
    {
        ["Storage"] = ["Intake", "Checking", "Comparing", "Sealing", "Publishing", "Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Intake"] = ["Checking", "Comparing", "Sealing", "Publishing", "Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Checking"] = ["Comparing", "Sealing", "Publishing", "Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Comparing"] = ["Publishing", "Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Faults"] = ["Publishing", "Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Sealing"] = ["Publishing", "Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Publishing"] = ["Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Downloads"] = ["Statistics", "Letters", "Persons", "Upkeep"],
        ["Statistics"] = ["Letters", "Persons", "Upkeep"],
        ["Persons"] = ["Upkeep"],
        ["Drops"] = ["Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Catalog"] = ["Publishing", "Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Membership"] = ["Payments", "Publishing", "Drops", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Payments"] = ["Publishing", "Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Accounts"] = ["Intake", "Checking", "Comparing", "Sealing", "Publishing", "Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Alerts"] = ["Intake", "Checking", "Comparing", "Sealing", "Publishing", "Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Mail"] = ["Intake", "Checking", "Comparing", "Sealing", "Publishing", "Drops", "Downloads", "Statistics", "Letters", "Persons", "Upkeep"],
        ["Letters"] = ["Persons", "Upkeep"],
        ["Upkeep"] = [],
    };

    [Fact]
    public void Every_folder_of_Core_is_a_known_step()
    {
        var folders = Directory.EnumerateDirectories(Path.Combine(Repository.Source, "LibraryShelf.Core"))
            .Select(folder => Path.GetFileName(folder))
            .Where(name => name is not ("bin" or "obj"));
        Assert.Empty(folders.Except([.. Later.Keys, .. NotSteps]));
    }

    public static TheoryData<string> Steps() => [.. Later.Keys];

    [Theory, MemberData(nameof(Steps))]
    public void A_step_never_calls_a_step_after_it(string step)
    {
        if (Later[step].Length == 0) return;
        var result = Types.InAssembly(typeof(ShelfDb).Assembly)
            .That().ResideInNamespace(Root + step)
            .ShouldNot().HaveDependencyOnAny([.. Later[step].Select(later => Root + later)])
            .GetResult();
        Assert.True(result.IsSuccessful, $"{step} reaches forward: {string.Join(", ", result.FailingTypeNames ?? [])}");
    }

    [Fact]
    public void The_rule_sees_a_dependency_where_there_is_one()
    {
        var result = Types.InAssembly(typeof(ShelfDb).Assembly)
            .That().ResideInNamespace(Root + "Data")
            .ShouldNot().HaveDependencyOnAny(Root + "Sealing")
            .GetResult();
        Assert.False(result.IsSuccessful);
    }

    [Fact]
    public void Core_knows_no_host_and_no_provider()
    {
        var result = Types.InAssembly(typeof(ShelfDb).Assembly)
            .ShouldNot().HaveDependencyOnAny("Hangfire", "Stripe", "MailKit", "Microsoft.AspNetCore.Http", "Microsoft.AspNetCore.Mvc", "Microsoft.Data.Sqlite", "Npgsql")
            .GetResult();
        Assert.True(result.IsSuccessful, string.Join(", ", result.FailingTypeNames ?? []));
    }

    [Fact]
    public void A_verb_has_one_public_method()
    {
        var wrong = typeof(ShelfDb).Assembly.GetExportedTypes().Where(Web.Setup.VerbSetup.IsVerb)
            .Where(verb => verb.GetMethods(System.Reflection.BindingFlags.Public | System.Reflection.BindingFlags.Instance
                | System.Reflection.BindingFlags.DeclaredOnly).Length != 1)
            .Select(verb => verb.Name);
        Assert.Empty(wrong);
    }
}
