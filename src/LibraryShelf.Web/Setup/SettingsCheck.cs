using System.ComponentModel.DataAnnotations;
using System.Globalization;
using System.Reflection;
using LibraryShelf.Core.Shared;
using Microsoft.Extensions.Options;

namespace LibraryShelf.Web.Setup;

/// <summary>
/// Says which settings are of no use, each by its full name and in the shelf's language: the platform's own check speaks English alone. What a setting holds is repeated only where
/// it is a number or one of a few words, so no secret is.
/// </summary>
internal sealed class SettingsCheck : IValidateOptions<ShelfSettings>
{
    public ValidateOptionsResult Validate(string? name, ShelfSettings options)
    {
        List<string> wrong = [.. Wrong(ShelfSettings.Section, options)];
        return wrong.Count == 0 ? ValidateOptionsResult.Success : ValidateOptionsResult.Fail(wrong);
    }

    /// <summary>Numbers and switches whose texts are none; the platform says so only by breaking off.</summary>
    public static IEnumerable<string> Unread(IConfigurationSection settings, Type type) => type.GetProperties().SelectMany(property =>
        property.IsDefined(typeof(ValidateObjectMembersAttribute)) ? Unread(settings.GetSection(property.Name), property.PropertyType)
        : settings[property.Name] is { } text && WhyUnread(property.PropertyType, text, $"{settings.Path}:{property.Name}") is { } why ? [why] : []);

    private static string? WhyUnread(Type type, string text, string name) => type switch
    {
        _ when type == typeof(bool) => bool.TryParse(text, out _) ? null : T($"{name} is “{text}”. It is true or false, nothing else."),
        _ when type == typeof(int) => int.TryParse(text, CultureInfo.InvariantCulture, out _) ? null : T($"{name} is “{text}”. It is a whole number."),
        _ when type == typeof(long) => long.TryParse(text, CultureInfo.InvariantCulture, out _) ? null : T($"{name} is “{text}”. It is a whole number."),
        _ => null,
    };

    private static IEnumerable<string> Wrong(string path, object settings)
    {
        var isFine = true;
        foreach (var property in settings.GetType().GetProperties())
        {
            var (name, value) = ($"{path}:{property.Name}", property.GetValue(settings));
            foreach (var rule in property.GetCustomAttributes<ValidationAttribute>().Where(r => !r.IsValid(value)))
            {
                isFine = false;
                yield return Words(name, value, rule);
            }
            if (property.IsDefined(typeof(ValidateObjectMembersAttribute)) && value is not null)
                foreach (var words in Wrong(name, value))
                    yield return words;
        }
        // What depends on several is asked when each is fine for itself.
        if (isFine && settings is IValidatableObject together)
            foreach (var result in together.Validate(new ValidationContext(settings)))
                yield return result.ErrorMessage!;
    }

    private static string Words(string name, object? value, ValidationAttribute rule) => rule switch
    {
        RangeAttribute { Minimum: var least, Maximum: var most } => Convert.ToDouble(most, CultureInfo.InvariantCulture) >= long.MaxValue
            ? T($"{name} is {value}. It is {least} or more.") : T($"{name} is {value}. It is from {least} to {most}."),
        AllowedValuesAttribute few => T($"{name} is “{value}”. It is one of these: {string.Join(", ", few.Values)}."),
        RequiredAttribute => T($"{name} is empty, and it can’t be."),
        _ => throw new InvalidOperationException($"There are no words for {rule.GetType().Name} of {name}."),
    };
}
