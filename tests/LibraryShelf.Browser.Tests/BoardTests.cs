using Microsoft.Playwright;

namespace LibraryShelf.Browser.Tests;

/// <summary>The shelf's boards in Chromium: what is pulled, what is found, that titles fit and nothing moves.</summary>
public sealed class BoardTests(FilledShelf filled) : IClassFixture<FilledShelf>
{
    private const string Seen = "[...document.querySelectorAll('.fact')].filter(f => f.checkVisibility({ visibilityProperty: true })).map(f => f.querySelector('.name').textContent)";

    [Theory]
    [InlineData(1280, "/", null)]
    [InlineData(390, "/", 40_000)] // so slow that fonts come a second after the first paint
    [InlineData(1280, "/boxes/mended-kettle", null)]
    [InlineData(390, "/boxes/mended-kettle", null)]
    public async Task Nothing_moves_while_a_page_loads_and_is_scrolled(int width, string path, int? bytesASecond)
    {
        var page = await filled.PageAsync(width, path, bytesASecond: bytesASecond);
        for (var y = 0; y < 6_000; y += 600)
            await page.EvaluateAsync($"new Promise(done => {{ window.scrollTo(0, {y}); requestAnimationFrame(() => requestAnimationFrame(done)); }})");
        var shifted = await page.EvaluateAsync<double>("window.shifted.reduce((sum, e) => sum + e.value, 0)");
        Assert.True(shifted < 0.01, $"{shifted}: " + await page.EvaluateAsync<string>("window.shifted.flatMap(e => e.sources.map(s => `at ${Math.round(e.startTime)} ms from ${s.previousRect.y}, ${s.previousRect.height} high, to ${s.currentRect.y}, ${s.currentRect.height} high: ${s.node?.outerHTML?.slice(0, 120)}`)).join('\\n')"));
        // The measure itself is no empty one: something pushed in on top is seen.
        await page.EvaluateAsync("window.scrollTo(0, 0); document.querySelector('main').insertAdjacentHTML('beforebegin', '<p>pushed in</p><p>and more</p>')");
        await page.EvaluateAsync("new Promise(done => { const look = () => window.shifted.some(e => e.value > 0.001) ? done() : requestAnimationFrame(look); look(); })");
        await page.Context.CloseAsync();
    }

    [Theory]
    [InlineData(1280)]
    [InlineData(1000)]
    [InlineData(390)]
    public async Task Nothing_moves_when_the_page_comes_in_pieces_and_breaks_off_before_facts_amid_them_and_between_boxes(int width)
    {
        var page = await filled.PageAsync(width);
        var (painted, shifted) = (await page.EvaluateAsync<double[]>("""
            async () => {
              const whole = await (await fetch("/")).text();
              const at = ['<div class="fact', '<dl class="facts', '<a class="button', '<li class="', '<li class="'].reduce((all, mark) => [...all, whole.indexOf(mark, all.length === 0 ? whole.indexOf('<div class="shelf"') : all.at(-1) + 1)], []);
              const frames = () => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)));
              document.open();
              document.write(whole.slice(0, at[0]));
              await frames();
              window.shifted.length = 0;
              const painted = document.querySelector("h1").getBoundingClientRect().height;
              for (const [i, from] of at.entries()) {
                document.write(whole.slice(from, at[i + 1]));
                await frames();
              }
              document.close();
              await frames(); await frames();
              const shifted = window.shifted.reduce((sum, e) => sum + e.value, 0);
              // The measure itself is no empty one: something pushed in on top is seen.
              document.querySelector("main").insertAdjacentHTML("beforebegin", "<p>pushed in</p><p>and more</p>");
              await new Promise((done) => { const look = () => window.shifted.some((e) => e.value > 0.001) ? done() : requestAnimationFrame(look); look(); });
              return [painted, shifted];
            }
            """)) is [var height, var sum] ? (height, sum) : default;
        Assert.True(painted > 0);
        Assert.InRange(shifted, 0, 0.01);
        await page.Context.CloseAsync();
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task The_newest_is_pulled_first_and_then_whichever_is_pointed_at_or_in_focus(bool withScript)
    {
        var page = await filled.PageAsync(1280, withScript: withScript);
        var first = page.Locator(".board.first");
        await Assertions.Expect(first.Locator(".fact:visible .name")).ToHaveTextAsync("Mended Kettle");
        await first.Locator("li").Nth(3).HoverAsync();
        await Assertions.Expect(first.Locator(".fact:visible .name")).ToHaveTextAsync("Quiet Kettle");
        await first.Locator("li > a").Nth(3).EvaluateAsync("a => Promise.all(a.getAnimations().map(x => x.finished))");
        // It rises by 26 px and its range lights up on the ruler, key by key.
        var (risen, standing) = ((await first.Locator("li > a").Nth(3).BoundingBoxAsync())!, (await first.Locator("li > a").Nth(2).BoundingBoxAsync())!);
        Assert.Equal(26, standing.Y + standing.Height - risen.Y - risen.Height, 0.5);
        Assert.Equal(1, await page.Locator(".lit:visible").CountAsync());
        Assert.Equal(0, (await page.Locator(".lit:visible").BoundingBoxAsync())!.Y);
        // On the way down it stays pulled, and its facts can be reached by the pointer.
        await page.Mouse.MoveAsync(risen.X + risen.Width / 2, standing.Y + standing.Height + 30);
        await Assertions.Expect(first.Locator(".fact:visible .name")).ToHaveTextAsync("Quiet Kettle");
        await first.Locator(".fact:visible .button.solid").HoverAsync();
        await Assertions.Expect(first.Locator(".fact:visible .name")).ToHaveTextAsync("Quiet Kettle");
        await page.Mouse.MoveAsync(640, 5);
        if (!withScript)
            await Assertions.Expect(first.Locator(".fact:visible .name")).ToHaveTextAsync("Mended Kettle");
        // Beside a pile, too, however low the box stands: past its end, and then up, under no other.
        foreach (var width in new[] { 1000, 800 })
        {
            await page.SetViewportSizeAsync(width, 1_400);
            var low = first.Locator("li > a").Last;
            await low.HoverAsync();
            var (from, name) = ((await low.BoundingBoxAsync())!, (await low.Locator("b").TextContentAsync())!);
            var to = (await first.Locator(".fact:visible .button.solid").BoundingBoxAsync())!;
            var (x, y) = (to.X + to.Width / 2, to.Y + to.Height / 2);
            Assert.True(from.Y > y);
            await page.Mouse.MoveAsync(x, from.Y + from.Height / 2, new() { Steps = 30 });
            await page.Mouse.MoveAsync(x, y, new() { Steps = 30 });
            Assert.Equal($"{name}, Open", await page.EvaluateAsync<string>("document.querySelector('.fact:hover .name').textContent + ', ' + document.querySelector('.fact .button:hover').textContent"));
        }
        // By Tab, too, they come after their box and before the next (WCAG 2.2, 2.4.3), and stay open while somebody is in them, wherever the pointer goes meanwhile.
        foreach (var width in new[] { Sight.Phone, Sight.Desk })
        {
            await page.SetViewportSizeAsync(width, 900);
            await first.Locator("li > a").Nth(1).FocusAsync();
            var came = new List<string>();
            while (came.Count < 4 && came.LastOrDefault()?.StartsWith("Hollow", StringComparison.Ordinal) != true)
            {
                if (came.Count == 1)
                    await first.Locator("li > a").Nth(4).HoverAsync();
                var open = await first.Locator(".fact:visible .name").TextContentAsync();
                await page.Keyboard.PressAsync("Tab");
                came.Add($"{await page.EvaluateAsync<string>("document.activeElement.textContent.trim().split(',')[0]")} beside {open}");
            }
            Assert.Equal(["Open beside Tarred Kettle", "Hollow Kettle beside Tarred Kettle"], came);
        }
        await Assertions.Expect(first.Locator(".fact:visible .name")).ToHaveTextAsync("Hollow Kettle");
        await page.Keyboard.PressAsync("Enter");
        await Assertions.Expect(page).ToHaveURLAsync(new Uri(filled.Shelf.Address, "/boxes/hollow-kettle").ToString());
        await page.Context.CloseAsync();
    }

    [Theory]
    [InlineData(1280)]
    [InlineData(390)]
    [InlineData(320)]
    public async Task Every_title_lies_within_its_spine_clear_of_reeds_and_cords(int width)
    {
        var page = await filled.PageAsync(width);
        await page.EvaluateAsync("document.fonts.ready");
        // Down to 320 px nothing slides sideways (WCAG 2.2, 1.4.10), a box that is pulled neither.
        await page.Locator(".boxes > li > a").First.EvaluateAsync("a => Promise.all(a.getAnimations().map(x => x.finished))");
        Assert.Equal(0, await page.EvaluateAsync<double>("Math.max(0, document.documentElement.scrollWidth - innerWidth, ...[...document.querySelectorAll('.boxes > li > a')].map(a => a.getBoundingClientRect().right - innerWidth))"));
        Assert.InRange(await page.EvaluateAsync<double>("Math.min(...[...document.querySelectorAll('.boxes > li > a')].map(a => a.getBoundingClientRect().height))"), 44, 800);
        // The text's own length against the room its box gives it, along the spine.
        var outside = await page.EvaluateAsync<string[]>("""
            [...document.querySelectorAll('.boxes a > b')].map(b => {
              const range = document.createRange(); range.selectNodeContents(b);
              const text = range.getBoundingClientRect(), room = b.getBoundingClientRect(), box = b.parentElement.getBoundingClientRect();
              const isFlat = getComputedStyle(b).writingMode === 'horizontal-tb';
              const [length, most] = isFlat ? [text.width, room.width] : [text.height, room.height];
              const isInside = room.top >= box.top && room.bottom <= box.bottom && room.left >= box.left && room.right <= box.right;
              return isInside && length <= most + 1 && length >= 0.5 * most ? null : `${b.textContent}: ${length} of ${most}`;
            }).filter(Boolean)
            """);
        Assert.Empty(outside);
        await page.Context.CloseAsync();
    }

    [Fact]
    public async Task Choosing_and_typing_and_sorting_change_boards_and_list_at_once_without_asking_the_server()
    {
        var page = await filled.PageAsync(1280);
        var asked = new List<string>();
        page.Request += (_, request) => { if (request.ResourceType is "document" or "fetch") asked.Add($"{request.Method} {new Uri(request.Url).PathAndQuery}"); };
        await page.GetByLabel("Find").FillAsync("copper");
        await Assertions.Expect(page.Locator("#shelf-list tbody tr:visible")).ToHaveCountAsync(2);
        await Assertions.Expect(page.Locator(".boxes li:visible")).ToHaveCountAsync(2);
        await Assertions.Expect(page.GetByRole(AriaRole.Status)).ToHaveTextAsync($"2 of {FilledShelf.Boxes} shown");
        await Assertions.Expect(page).ToHaveURLAsync(new Uri(filled.Shelf.Address, "/?find=copper").ToString());
        await page.GetByLabel("Find").FillAsync("");
        await page.GetByText("Free ", new() { Exact = false }).First.ClickAsync();
        await page.Locator("select[name=sound]").SelectOptionAsync("bowed");
        await page.Locator("select[name=keys]").SelectOptionAsync("17-25");
        await page.GetByLabel("Opens in").SelectOptionAsync("Pondskater 3.2");
        await page.GetByRole(AriaRole.Link, new() { Name = "Size" }).ClickAsync();
        var chosen = await page.Locator("#shelf-list tbody tr:visible th a").AllTextContentsAsync();
        var address = page.Url;
        Assert.Empty(asked);
        // The server, asked the same without script, shows the same in the same order.
        var plain = await filled.PageAsync(1280, new Uri(address).PathAndQuery, withScript: false);
        Assert.Equal(chosen, await plain.Locator("#shelf-list tbody tr:visible th a").AllTextContentsAsync());
        Assert.Equal("descending", await plain.Locator("th", new() { HasText = "Size" }).GetAttributeAsync("aria-sort"));
        Assert.Equal("descending", await page.Locator("th", new() { HasText = "Size" }).GetAttributeAsync("aria-sort"));
        await plain.Context.CloseAsync();
        await page.Context.CloseAsync();
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public async Task Where_a_choice_leaves_no_box_of_the_first_board_the_first_that_is_left_is_pulled(bool withScript)
    {
        var page = await filled.PageAsync(Sight.Phone, withScript: withScript);
        var title = await page.Locator(".board:not(.first) .boxes a > b").First.TextContentAsync();
        await page.GotoAsync(new Uri(filled.Shelf.Address, "/?find=" + Uri.EscapeDataString(title!)).ToString());
        await Assertions.Expect(page.Locator(".boxes li:visible")).ToHaveCountAsync(1);
        await Assertions.Expect(page.Locator(".fact:visible .name")).ToHaveTextAsync(title!);
        await page.Context.CloseAsync();
    }

    [Fact]
    public async Task A_full_shelf_reads_well_aloud_and_fits_the_screen()
    {
        var page = await filled.PageAsync(Sight.Desk);
        var sight = new Sight();
        await sight.IsWellAtBothAsync(page, "full-shelf", inAllLooks: true);
        await sight.HtmlIsWellAsync();
        await page.Context.CloseAsync();
    }

    [Fact]
    public async Task A_search_that_finds_nothing_says_so_and_the_server_hears_of_it_once()
    {
        var page = await filled.PageAsync(390);
        var heard = page.WaitForRequestAsync(request => request.Method == "HEAD");
        await page.GetByLabel("Find").FillAsync("celesta");
        await Assertions.Expect(page.GetByText("No box matches “celesta”.")).ToBeVisibleAsync();
        await Assertions.Expect(page.Locator(".board:visible")).ToHaveCountAsync(0);
        Assert.Equal("/?find=celesta", new Uri((await heard).Url).PathAndQuery);
        await page.GetByLabel("Find").FillAsync("");
        await Assertions.Expect(page.Locator("#shelf-list tbody tr:visible")).ToHaveCountAsync(FilledShelf.Boxes);
        // No column's head is here to be pressed: the list is put in order by a choice of its own.
        await page.Locator("#order").SelectOptionAsync("library");
        var names = await page.Locator("#shelf-list tbody tr:visible th a").AllTextContentsAsync();
        Assert.Equal(names.Order(StringComparer.OrdinalIgnoreCase), names);
        await Assertions.Expect(page).ToHaveURLAsync(new Uri(filled.Shelf.Address, "/?order=library").ToString());
        await page.Context.CloseAsync();
    }

    [Fact]
    public async Task On_a_phone_the_first_tap_opens_the_facts_under_the_box_and_the_second_its_page()
    {
        var page = await filled.PageAsync(390, withTouch: true);
        var box = page.Locator(".board.first li > a").Nth(2);
        await box.TapAsync();
        await Assertions.Expect(page.Locator(".board.first .fact:visible .name")).ToHaveTextAsync("Hollow Kettle");
        Assert.Equal(["Hollow Kettle"], await page.EvaluateAsync<string[]>(Seen));
        Assert.True((await page.Locator(".board.first .fact:visible").BoundingBoxAsync())!.Y > (await box.BoundingBoxAsync())!.Y);
        await box.TapAsync();
        await Assertions.Expect(page).ToHaveURLAsync(new Uri(filled.Shelf.Address, "/boxes/hollow-kettle").ToString());
        await page.Context.CloseAsync();
    }
}
