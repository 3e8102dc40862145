using System.Globalization;
using System.Text;

namespace LibraryShelf.Web.Pages.Workbench.Releases.Pictures;

/// <summary>Shapes gathered into one SVG path, units rounded to a tenth.</summary>
internal sealed class Shapes
{
    private readonly StringBuilder path = new();

    public bool Any => path.Length > 0;

    public void Box(double x, double y, double width, double height) =>
        path.Append(CultureInfo.InvariantCulture, $"M{x:0.#} {y:0.#}h{width:0.#}v{height:0.#}h{-width:0.#}z");

    public void Diamond(double x, double y, double radius) =>
        path.Append(CultureInfo.InvariantCulture, $"M{x:0.#} {y - radius:0.#}l{radius:0.#} {radius:0.#}l{-radius:0.#} {radius:0.#}l{-radius:0.#} {-radius:0.#}z");

    public void Ring(double x, double y, double radius) =>
        path.Append(CultureInfo.InvariantCulture, $"M{x - radius:0.#} {y:0.#}a{radius:0.#} {radius:0.#} 0 1 0 {2 * radius:0.#} 0a{radius:0.#} {radius:0.#} 0 1 0 {-2 * radius:0.#} 0z");

    public void Line(double x1, double y1, double x2, double y2) =>
        path.Append(CultureInfo.InvariantCulture, $"M{x1:0.#} {y1:0.#}L{x2:0.#} {y2:0.#}");

    public override string ToString() => path.ToString();
}
