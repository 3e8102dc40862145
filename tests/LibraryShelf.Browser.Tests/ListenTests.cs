using System.Text.Json;
using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>
/// Listening and playing in Chromium. What sounds is told by the browser's own doing: each start of a buffer is written down, with when the press that caused it
/// came. So the wait of 150 ms is from the press to the start that the script asks for, by the browser's clock, the best of up to three pages because a busy machine
/// spoils some; what the sound's device adds behind it, and the limiter's 6 ms, are not in it.
/// </summary>
public sealed partial class ListenTests(ListenedShelf claimed) : IClassFixture<ListenedShelf>
{
    /// <summary>From the first press to its sound, on this machine, milliseconds.</summary>
    private const double MostWait = 150;

    private const string Watch = """
        window.heard = [];
        window.pressed = 0;
        for (const kind of ["pointerdown", "keydown"]) addEventListener(kind, (e) => { window.pressed = e.timeStamp; }, true);
        const start = AudioBufferSourceNode.prototype.start;
        AudioBufferSourceNode.prototype.start = function (...rest) {
          window.heard.push({ after: performance.now() - window.pressed, rate: this.playbackRate.value, seconds: this.buffer.duration, running: this.context.state });
          return start.apply(this, rest);
        };
        """;

    private sealed record Heard(double After, double Rate, double Seconds, string Running);

    [Fact]
    public async Task A_keyboard_that_was_asked_for_plays_at_once_and_takes_no_letters_from_the_page()
    {
        var address = await claimed.KettlesAsync();
        await using var context = await claimed.Shelf.NewContextAsync();
        await context.AddInitScriptAsync(Watch);
        var waits = new List<double>();
        // A busy machine may spoil one first press; not each of three.
        for (var tries = 0; tries < 3 && waits.TrueForAll(w => w > MostWait); tries++)
        {
            var page = await context.NewPageAsync();
            var asked = await LoadAsync(page, address);
            await page.GetByRole(AriaRole.Button, new() { Name = "E4" }).HoverAsync();
            await page.Mouse.DownAsync();
            await HeardAsync(page, 1);
            await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "E4" })).ToHaveClassAsync(new System.Text.RegularExpressions.Regex(@"\bnow\b"));
            await page.Mouse.UpAsync();
            await Assertions.Expect(page.Locator(".key.now")).ToHaveCountAsync(0);
            waits.Add((await HeardAsync(page, 1))[0].After);
            // The manifest, the set in Ogg Opus, and nothing else.
            Assert.Equal(["keyboard.json", "keyboard-opus.bin"], asked.Where(a => a.Contains("/listen/", StringComparison.Ordinal)).Select(a => new Uri(a).Segments[^1]));
            if (tries > 0)
                continue;
            await LettersAsync(page);
        }
        Assert.Contains(waits, w => w <= MostWait);
    }

    private static async Task LettersAsync(IPage page)
    {
        // In the keyboard A is the lowest C, G the fifth above it; the other keys of this library are not recorded.
        await page.Locator(".key:not(:disabled)").First.FocusAsync();
        await page.Keyboard.PressAsync("a");
        await page.Keyboard.PressAsync("g");
        await page.Keyboard.PressAsync("ArrowRight");
        await page.Keyboard.PressAsync("Enter");
        var heard = await HeardAsync(page, 4);
        Assert.All(heard, h => Assert.Equal((1, "running"), (h.Rate, h.Running)));
        // A fifth of a second was recorded: what a decoder passes over and fills up is cut off again.
        Assert.All(heard, h => Assert.Equal(0.2, h.Seconds, 0.002));

        await page.Locator(".play-volume input").FocusAsync();
        await page.Keyboard.PressAsync("a");
        await page.Locator("h1").ClickAsync();
        await page.Keyboard.PressAsync("a");
        await page.Locator(".key:not(:disabled)").First.FocusAsync();
        await page.Keyboard.PressAsync("Control+a");
        await page.Keyboard.PressAsync("w");
        // One more that sounds, so that it is known that nothing else will.
        await page.Keyboard.PressAsync("d");
        Assert.Equal(5, (await HeardAsync(page, 5)).Length);

        // Let go of while Control is held, it is let go of all the same.
        await page.Keyboard.DownAsync("d");
        await Assertions.Expect(page.Locator(".key.now")).ToHaveCountAsync(1);
        await page.Keyboard.DownAsync("Control");
        await page.Keyboard.UpAsync("d");
        await Assertions.Expect(page.Locator(".key.now")).ToHaveCountAsync(0);
        await page.Keyboard.UpAsync("Control");
    }

    [Fact]
    public async Task Everything_starts_low_reads_well_aloud_and_nothing_is_asked_for_before_somebody_asks()
    {
        var address = await claimed.KettlesAsync();
        await using var context = await claimed.Shelf.NewContextAsync(new() { ViewportSize = new() { Width = 390, Height = 844 } });
        var page = await context.NewPageAsync();
        var asked = new List<string>();
        page.Request += (_, request) => asked.Add(request.Url);
        await page.GotoAsync(address, new() { WaitUntil = WaitUntilState.NetworkIdle });
        Assert.DoesNotContain(asked, a => a.Contains("/listen/", StringComparison.Ordinal) || a.Contains("keyboard", StringComparison.Ordinal));

        await Assertions.Expect(page.Locator(".caution")).ToContainTextAsync("Start with your volume low");
        var players = page.Locator(".excerpts audio");
        Assert.True(await players.CountAsync() > 0);
        Assert.True(await players.EvaluateAllAsync<bool>("all => all.every(a => a.volume === 0.25 && a.preload === 'none')"));
        var seconds = await players.First.EvaluateAsync<double>("a => new Promise((done, failed) => { a.onloadedmetadata = () => done(a.duration); a.onerror = () => failed(a.error); a.play(); })");
        Assert.InRange(seconds, 1, 13);

        await page.GetByRole(AriaRole.Button, new() { Name = "Load the keyboard" }).ClickAsync();
        await Assertions.Expect(page.GetByText("The keyboard is ready.")).ToBeVisibleAsync();
        Assert.Equal("25", await page.Locator(".play-volume input").InputValueAsync());
        await new Sight().IsWellAtBothAsync(page, "listen");
    }

    [Fact]
    public async Task A_browser_without_Ogg_Opus_plays_the_set_of_WAV_files()
    {
        var address = await claimed.KettlesAsync();
        await using var context = await claimed.Shelf.NewContextAsync();
        await context.AddInitScriptAsync(Watch + """
            const decode = BaseAudioContext.prototype.decodeAudioData;
            BaseAudioContext.prototype.decodeAudioData = function (bytes, ...rest) {
              const isOgg = new Uint8Array(bytes)[0] === "O".charCodeAt(0);
              return isOgg ? Promise.reject(new DOMException("no such codec", "EncodingError")) : decode.call(this, bytes, ...rest);
            };
            """);
        var page = await context.NewPageAsync();
        var asked = await LoadAsync(page, address);
        await Assertions.Expect(page.GetByText("Each press plays the next take")).ToHaveCountAsync(0);
        await page.GetByRole(AriaRole.Button, new() { Name = "C4" }).ClickAsync();
        Assert.Equal(0.2, (await HeardAsync(page, 1))[0].Seconds, 0.002);
        Assert.Equal(["keyboard.json", "keyboard-wav.bin"], asked.Where(a => a.Contains("/listen/", StringComparison.Ordinal)).Select(a => new Uri(a).Segments[^1]));

        // The last thing before the loudspeaker: a soft stroke comes out as it is, and two, or a chord of eight, as hard as can be at full volume do not clip.
        Assert.Equal(0.5, await PeakAsync(page, 0.5), 0.01);
        Assert.InRange(await PeakAsync(page, 2), 0.7, 1);
        Assert.InRange(await PeakAsync(page, 8), 0.7, 1);

        // A key whose softest recording begins at 60 sounds however softly it is struck, each layer where it is meant, and nothing where there is nothing.
        Assert.Equal(["firm", "firm", "hard", "none"], await page.EvaluateAsync<string[]>("""
            async () => {
              const { nearest } = await import("/js/keyboard-sounds.js");
              const on = [{ name: "firm", softest: 60, hardest: 100 }, { name: "hard", softest: 101, hardest: 127 }];
              return [...[20, 100, 101].flatMap((velocity) => nearest(on, velocity).map((r) => r.name)), nearest([], 64).length === 0 ? "none" : "some"];
            }
            """));
    }

    [Fact]
    public async Task Without_script_the_excerpts_are_there_and_no_keyboard()
    {
        var address = await claimed.KettlesAsync();
        await using var context = await claimed.Shelf.NewContextAsync(new() { JavaScriptEnabled = false });
        var page = await context.NewPageAsync();
        await page.GotoAsync(address);
        await Assertions.Expect(page.Locator("audio[controls][preload=none]").First).ToBeVisibleAsync();
        await Assertions.Expect(page.GetByRole(AriaRole.Button, new() { Name = "Load the keyboard" })).ToBeHiddenAsync();
    }

    /// <returns>The greatest sample, 1 full scale, of a tone that begins at once and goes in with this peak.</returns>
    private static Task<double> PeakAsync(IPage page, double peak) => page.EvaluateAsync<double>("""
        async (peak) => {
          const { limiter } = await import("/js/keyboard-sounds.js");
          const context = new OfflineAudioContext(1, 24000, 48000);
          const tone = new OscillatorNode(context, { frequency: 220 });
          tone.connect(new GainNode(context, { gain: peak })).connect(limiter(context));
          tone.start();
          const samples = (await context.startRendering()).getChannelData(0);
          return samples.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
        }
        """, peak);

    /// <returns>What it asked the shelf for.</returns>
    private static async Task<List<string>> LoadAsync(IPage page, string address)
    {
        var asked = new List<string>();
        page.Request += (_, request) => asked.Add(request.Url);
        await page.GotoAsync(address, new() { WaitUntil = WaitUntilState.NetworkIdle });
        await page.GetByRole(AriaRole.Button, new() { Name = "Load the keyboard" }).ClickAsync();
        await Assertions.Expect(page.GetByText("The keyboard is ready.")).ToBeVisibleAsync();
        return asked;
    }

    private static async Task<Heard[]> HeardAsync(IPage page, int least)
    {
        await page.WaitForFunctionAsync("least => window.heard.length >= least", least);
        return JsonSerializer.Deserialize<Heard[]>(await page.EvaluateAsync<string>("JSON.stringify(window.heard)"), JsonSerializerOptions.Web)!;
    }
}
