using Mono.Cecil;
using Mono.Cecil.Cil;

namespace LibraryShelf.Architecture.Tests.Texts;

/// <summary>Reads the compiled code for what it says as one plain text. The compiler makes such a one of holes that are all constants, and no language's file has that text.</summary>
internal static class TextsCompiled
{
    public static IEnumerable<(string Place, string Text)> Plain() => TextsInCode.Rooms.SelectMany(room => PlainOf(Path.Combine(AppContext.BaseDirectory, $"LibraryShelf.{room}.dll")));

    private static List<(string Place, string Text)> PlainOf(string assembly)
    {
        using var program = ModuleDefinition.ReadModule(assembly);
        return [.. from type in program.Types from method in MethodsOf(type) from step in method.Body.Instructions where IsSaid(step) && step.Previous?.OpCode == OpCodes.Ldstr
                   select ($"{type.FullName}.{method.Name}", (string)step.Previous.Operand)];
    }

    private static IEnumerable<MethodDefinition> MethodsOf(TypeDefinition type) => type.Methods.Where(m => m.HasBody).Concat(type.NestedTypes.SelectMany(MethodsOf));

    private static bool IsSaid(Instruction step) => step.Operand is MethodReference { Parameters.Count: 1 } called && called.Parameters[0].ParameterType.FullName == "System.String"
        && (called.Name, called.DeclaringType.Name) is ("T", "Say") or ("H", "PageText");
}
