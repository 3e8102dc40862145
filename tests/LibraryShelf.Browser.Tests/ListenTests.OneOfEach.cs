using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>All that a mapping may say of playing, in the browser: which recording sounds is told by its length (<see cref="KettleFolder.WriteOneOfEach"/>).</summary>
public sealed partial class ListenTests
{
    /// <summary>A MIDI keyboard as the browser would give it (Web MIDI API §5), played by window.midi.</summary>
    private const string MidiKeyboard = """
        window.midi = { name: "Reed pedals", onmidimessage: null };
        navigator.requestMIDIAccess = async () => ({ inputs: new Map([["1", window.midi]]), onstatechange: null });
        """;

    /// <summary>Voices stopped for good, and those let go of.</summary>
    private const string WatchStops = """
        window.stops = 0;
        const stop = AudioBufferSourceNode.prototype.stop;
        AudioBufferSourceNode.prototype.stop = function (...rest) { window.stops++; return stop.apply(this, rest); };
        """;

    [Fact]
    public async Task Takes_come_in_turn_layers_by_how_hard_ways_by_choice_and_letting_go_has_its_sound()
    {
        var address = await claimed.OneOfEachAsync();
        await using var context = await claimed.Shelf.NewContextAsync(new() { ViewportSize = new() { Width = 1280, Height = 900 } });
        await context.AddInitScriptAsync(Watch + WatchStops + MidiKeyboard);
        var page = await context.NewPageAsync();
        await LoadAsync(page, address);
        var sounded = 0;

        // The softer of two layers at first; each press is let go of, and that sounds too.
        await StrikeAsync("E4");
        await SoundsAsync(KettleFolder.SoftSeconds, KettleFolder.LiftSeconds);
        await StrikeAsync("E4");
        await SoundsAsync(KettleFolder.SoftAgainSeconds, KettleFolder.LiftSeconds);
        await StrikeAsync("E4");
        await SoundsAsync(KettleFolder.SoftSeconds, KettleFolder.LiftSeconds);
        // Each key has turns of its own.
        await StrikeAsync("C4");
        await SoundsAsync(KettleFolder.SoftSeconds, KettleFolder.LiftSeconds);

        await ChooseAsync("How hard", "Hard");
        await StrikeAsync("E4");
        await SoundsAsync(KettleFolder.HardSeconds, KettleFolder.LiftSeconds);

        // What is not recorded this way can't be pressed; there is one layer, so nothing to choose.
        await ChooseAsync("Way of playing", "Fingers");
        await Assertions.Expect(page.GetByRole(AriaRole.Group, new() { Name = "How hard" })).ToHaveCountAsync(0);
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "C6" })).ToBeDisabledAsync();
        await StrikeAsync("E4");
        await SoundsAsync(KettleFolder.FingerSeconds);
        await ChooseAsync("Way of playing", "Sticks");

        // Slid over, each key sounds and the one before is let go of.
        await page.GetByRole(AriaRole.Button, new() { Name = "F4", Exact = true }).HoverAsync();
        await page.Mouse.DownAsync();
        await SoundsAsync(KettleFolder.SoftSeconds);
        await page.GetByRole(AriaRole.Button, new() { Name = "G4", Exact = true }).HoverAsync();
        await SoundsAsync(KettleFolder.LiftSeconds, KettleFolder.SoftSeconds);
        await page.Mouse.UpAsync();
        await SoundsAsync(KettleFolder.LiftSeconds);

        // A MIDI keyboard strikes as hard as it is struck, whatever was chosen; note on with velocity 0 is a note off (MIDI 1.0).
        await page.GetByRole(AriaRole.Button, new() { Name = "Use a MIDI keyboard" }).ClickAsync();
        await Assertions.Expect(page.GetByText("Reed pedals plays here.")).ToBeVisibleAsync();
        await SendAsync(0x90, 84, 100);
        await SoundsAsync(KettleFolder.HardSeconds);
        await SendAsync(0x90, 84, 0);
        await SoundsAsync(KettleFolder.LiftSeconds);
        await SendAsync(0x95, 84, 20); // whatever the channel
        await SoundsAsync(KettleFolder.SoftSeconds);
        await SendAsync(0x85, 84, 64);
        await SoundsAsync(KettleFolder.LiftSeconds);

        // Held, and everything is stopped.
        await SendAsync(0x90, 60, 20);
        await SoundsAsync(KettleFolder.SoftAgainSeconds);
        await page.EvaluateAsync("window.stops = 0");
        await page.GetByRole(AriaRole.Button, new() { Name = "Stop all sound" }).ClickAsync();
        Assert.True(await page.EvaluateAsync<int>("window.stops") > 0);
        await Assertions.Expect(page.Locator(".key.now")).ToHaveCountAsync(0);

        async Task StrikeAsync(string key)
        {
            await page.GetByRole(AriaRole.Button, new() { Name = key, Exact = true }).HoverAsync();
            await page.Mouse.DownAsync();
            await page.Mouse.UpAsync();
        }

        Task ChooseAsync(string what, string choice) =>
            page.GetByRole(AriaRole.Group, new() { Name = what }).GetByText(choice, new() { Exact = true }).ClickAsync();

        Task SendAsync(params int[] message) => page.EvaluateAsync("data => window.midi.onmidimessage({ data })", message);

        async Task SoundsAsync(params double[] seconds)
        {
            // Begun together, they come in the order in which they were decoded.
            var heard = (await HeardAsync(page, sounded + seconds.Length)).Skip(sounded).Select(h => Math.Round(h.Seconds, 2));
            Assert.Equal(seconds.Order(), heard.Order());
            sounded += seconds.Length;
        }
    }

    [Fact]
    public async Task On_a_phone_a_finger_slides_from_key_to_key_and_the_rest_of_the_keys_is_a_press_away()
    {
        var address = await claimed.OneOfEachAsync();
        await using var context = await claimed.Shelf.NewContextAsync(new() { ViewportSize = new() { Width = 390, Height = 844 }, HasTouch = true, IsMobile = true });
        await context.AddInitScriptAsync(Watch);
        var page = await context.NewPageAsync();
        await LoadAsync(page, address);
        var finger = await context.NewCDPSessionAsync(page);
        await page.GetByRole(AriaRole.Button, new() { Name = "C4", Exact = true }).ScrollIntoViewIfNeededAsync();
        await TouchAsync("touchStart", "C4");
        await HeardAsync(page, 1);
        await TouchAsync("touchMove", "D4");
        await HeardAsync(page, 3);
        await TouchAsync("touchEnd", null);
        Assert.Equal(
            [KettleFolder.LiftSeconds, KettleFolder.LiftSeconds, KettleFolder.SoftSeconds, KettleFolder.SoftSeconds],
            (await HeardAsync(page, 4)).Select(h => Math.Round(h.Seconds, 2)).Order());

        // Where most keys play is shown at first, and the one far up is not there; the button leads to it, and keeps the focus at the end.
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "C6" })).ToHaveCountAsync(0);
        var higher = page.GetByRole(AriaRole.Button, new() { Name = "Higher" });
        for (var presses = 0; presses < 3 && await higher.GetAttributeAsync("aria-disabled") == "false"; presses++)
            await higher.ClickAsync();
        await Assertions.Expect(higher).ToBeFocusedAsync();
        await Assertions.Expect(higher).ToHaveAttributeAsync("aria-disabled", "true");
        await page.GetByRole(AriaRole.Button, new() { Name = "C6" }).TapAsync();
        Assert.Equal(KettleFolder.SoftSeconds, (await HeardAsync(page, 5))[4].Seconds, 0.01);
        await page.GetByRole(AriaRole.Button, new() { Name = "Lower" }).ClickAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "C6" })).ToHaveCountAsync(0);

        async Task TouchAsync(string type, string? key)
        {
            var at = key is null ? null : await page.GetByRole(AriaRole.Button, new() { Name = key, Exact = true }).BoundingBoxAsync();
            await finger.SendAsync("Input.dispatchTouchEvent", new()
            {
                ["type"] = type, ["touchPoints"] = at is null ? [] : new[] { new { x = at.X + (at.Width / 2), y = at.Y + (at.Height / 2) } },
            });
        }
    }

    [Fact]
    public async Task A_set_that_does_not_come_is_told_and_can_be_asked_for_again()
    {
        var address = await claimed.OneOfEachAsync();
        await using var context = await claimed.Shelf.NewContextAsync();
        var page = await context.NewPageAsync();
        var isDown = true;
        await page.RouteAsync("**/keyboard.json*", route => isDown ? route.FulfillAsync(new() { Status = 503 }) : route.ContinueAsync());
        await page.GotoAsync(address);
        var load = page.GetByRole(AriaRole.Button, new() { Name = "Load the keyboard" });
        await load.ClickAsync();
        await Assertions.Expect(page.Locator("[data-part=said]")).ToContainTextAsync("503");
        await Assertions.Expect(load).ToBeFocusedAsync();
        isDown = false;
        await StopAsync(page, load);
        await load.ClickAsync();
        await Assertions.Expect(page.GetByText("The keyboard is ready.")).ToBeVisibleAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "Stop loading" })).ToBeHiddenAsync();
    }

    /// <summary>A line on which the half of the set comes and then nothing more: its bytes are told, and the keyboard alone stops it, from the button that loads it.</summary>
    private static async Task StopAsync(IPage page, ILocator load)
    {
        await page.EvaluateAsync("""
            () => {
              const real = window.fetch;
              window.letGo = 0;
              const close = AudioContext.prototype.close;
              AudioContext.prototype.close = function () { window.letGo++; return close.call(this); };
              window.fetch = async (url, options) => {
                if (!`${url}`.includes(".bin")) return real(url, options);
                const whole = new Uint8Array(await (await real(url, options)).arrayBuffer());
                window.fetch = real;
                return new Response(new ReadableStream({ start(line) {
                  line.enqueue(whole.slice(0, whole.length / 2));
                  options.signal.addEventListener("abort", () => line.error(options.signal.reason));
                } }));
              };
            }
            """);
        await load.PressAsync("Enter");
        var bar = page.GetByRole(AriaRole.Progressbar, new() { Name = "Loaded so far" });
        await Assertions.Expect(page.Locator("[data-part=far]")).ToHaveTextAsync(HalfOfIt());
        Assert.Equal(0.5, await bar.EvaluateAsync<double>("bar => bar.value / bar.max"), 0.001);
        // Pressed again, it goes on as it was.
        await Assertions.Expect(load).ToBeFocusedAsync();
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(bar).ToBeVisibleAsync();
        await page.Keyboard.PressAsync("Tab");
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "Stop loading" })).ToBeFocusedAsync();
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page.Locator("[data-part=said]")).ToContainTextAsync("You stopped it at ");
        await Assertions.Expect(page.Locator("[data-part=said]")).ToContainTextAsync("Nothing of that is kept.");
        await Assertions.Expect(bar).ToBeHiddenAsync();
        await Assertions.Expect(load).ToBeFocusedAsync();
        Assert.Equal(1, await page.EvaluateAsync<int>("window.letGo"));
    }

    [System.Text.RegularExpressions.GeneratedRegex(@"^Loading the keyboard: \d+\.\d MB of \d+\.\d MB\.$")]
    private static partial System.Text.RegularExpressions.Regex HalfOfIt();
}
