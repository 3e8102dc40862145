using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>What somebody had in front of them when a walk broke off: without it, that a button never came tells nothing of why.</summary>
internal static class Failing
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(20);

    /// <summary>As many of the program's last words as a report bears, in characters.</summary>
    private const int MostSaid = 4000;

    /// <exception cref="InvalidOperationException">The walk broke off; with the page's address and words and the program's last ones, around what the browser said.</exception>
    public static async Task TellingAsync(RunningShelf shelf, IPage page, Func<Task> walk)
    {
        try
        {
            await walk();
        }
        catch (Exception e) when (e is TimeoutException or PlaywrightException)
        {
            var said = shelf.Output;
            throw new InvalidOperationException($"{e.Message}\n{page.Url} showed: {await WordsAsync(page)}\nThe program said last: {said[Math.Max(0, said.Length - MostSaid)..]}", e);
        }
    }

    private static async Task<string> WordsAsync(IPage page)
    {
        try
        {
            return await page.EvaluateAsync<string>("`${matchMedia('print').matches ? 'as on paper, ' : ''}${document.readyState}, ${document.body.innerText}`").WaitAsync(Patience);
        }
        catch (Exception e) when (e is TimeoutException or PlaywrightException)
        {
            return $"nothing, it did not answer within {Patience.TotalSeconds:0} s ({e.Message})";
        }
    }
}
