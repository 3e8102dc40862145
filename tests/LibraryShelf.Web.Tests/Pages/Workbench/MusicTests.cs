using System.Net;
using LibraryShelf.Audio.Previews;
using LibraryShelf.Core.Data;
using LibraryShelf.Core.Sealing.Listening;
using LibraryShelf.Web.Tests.Doors;
using Microsoft.EntityFrameworkCore;

namespace LibraryShelf.Web.Tests.Pages.Workbench;

/// <summary>A piece of music, from the maker's form to the library's page.</summary>
public sealed class MusicTests
{
    [Fact]
    public async Task A_piece_is_sent_heard_and_taken_off()
    {
        await using var world = await DoorWorld.MakeAsync();
        var maker = await world.ClientAsync(Who.Maker);
        var address = $"/workbench/libraries/{world.Free.Slug}/music";
        var tone = new float[2 * OggOpus.SampleRate];
        for (var i = 0; i < tone.Length; i++)
            tone[i] = 0.1f * MathF.Sin(i * 0.05f);

        using (var refused = await SendAsync(maker, address, "", WavFile.Write(new Sound(tone, 1, OggOpus.SampleRate))))
        {
            Assert.Equal(HttpStatusCode.BadRequest, refused.StatusCode);
            Assert.Contains("Give the piece a title.", await refused.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        }
        using (var sent = await SendAsync(maker, address, "Low water", WavFile.Write(new Sound(tone, 1, OggOpus.SampleRate))))
            Assert.Equal(HttpStatusCode.Redirect, sent.StatusCode);
        using (var empty = await SendAsync(maker, address, "High water", []))
            Assert.Equal(HttpStatusCode.BadRequest, empty.StatusCode);
        var library = await world.Host.AskDbAsync(db => db.Libraries.Where(l => l.Slug == world.Free.Slug).Select(l => l.Id).SingleAsync());
        Assert.Equal("“Low water” is being made ready to be heard. You may close this page.", (await maker.PageAsync(address)).QuerySelector("[data-far=music]")!.Words());
        await world.Host.WithDbAsync(db =>
        {
            db.WorkProgress.Add(new WorkProgress { Name = $"music:{library}", Done = 1, Total = 2 });
            return db.SaveChangesAsync();
        });
        var making = await maker.PageAsync(address);
        Assert.Contains("1 of 2 seconds of sound gone through.", making.QuerySelector("[data-far=music]")!.Words(), StringComparison.Ordinal);
        Assert.Contains("Stop, and take it off the page", making.QuerySelectorAll("button").Select(b => b.Words()));
        Assert.IsType<MakeMusicOutcome.Made>(await world.Host.RunAsync((MakeMusic make) => make.RunAsync(library, CancellationToken.None)));
        using var visitor = world.Host.Visitor();
        var source = (await visitor.PageAsync($"/boxes/{world.Free.Slug}")).QuerySelector(".excerpts source")!.GetAttribute("src")!;
        var bytes = await visitor.GetByteArrayAsync(source);
        Assert.Equal("OggS"u8.ToArray(), bytes[..4]);

        var page = await maker.PageAsync(address);
        Assert.Matches(@"“Low water” stands on the library’s page\. Edda Quill\. \d+ seconds?, ", page.QuerySelector("main")!.Words());
        await maker.PressAndFollowAsync(page, "Take it off the page");
        Assert.Null((await visitor.PageAsync($"/boxes/{world.Free.Slug}")).QuerySelector("#listening audio"));
        Assert.Equal(HttpStatusCode.NotFound, (await visitor.GetAsync(source)).StatusCode);
    }

    private static async Task<HttpResponseMessage> SendAsync(HttpClient maker, string address, string title, byte[] recording)
    {
        var proof = (await maker.PageAsync(address)).QuerySelector("main input[name=__RequestVerificationToken]")!.GetAttribute("value")!;
        using var form = new MultipartFormDataContent
        {
            { new StringContent(proof), "__RequestVerificationToken" }, { new StringContent(title), "Title" }, { new StringContent("Edda Quill"), "Credit" },
            { new ByteArrayContent(recording), "Recording", "low water.wav" },
        };
        return await maker.PostAsync(address, form);
    }
}
