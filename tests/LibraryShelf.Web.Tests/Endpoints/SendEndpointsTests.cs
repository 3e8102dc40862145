using System.IO.Compression;
using System.Net;
using System.Net.Http.Json;
using System.Text;
using System.Text.Json;
using LibraryShelf.Core.Catalog;
using LibraryShelf.Web.Jobs;
using Microsoft.EntityFrameworkCore;
using Microsoft.Extensions.DependencyInjection;
using static LibraryShelf.Web.Tests.Endpoints.SendBench;

namespace LibraryShelf.Web.Tests.Endpoints;

public sealed class SendEndpointsTests : IDisposable
{
    private static readonly byte[] A = Encoding.UTF8.GetBytes("the kettle, low");
    private readonly ShelfHost host = new();

    public void Dispose() => host.Dispose();

    [Fact]
    public async Task A_folder_is_planned_sent_and_then_wants_nothing()
    {
        var release = await host.OpenDraftAsync();
        var client = host.Sender();
        var draft = await JsonAsync(await client.PostAsJsonAsync("/api/libraries/kettle/drafts", new { }));
        Assert.Equal(release, draft.GetProperty("id").GetInt64());
        var plan = new { files = new[] { new { path = "a.wav", size = A.Length, sha256 = Hash(A) } } };
        var first = await JsonAsync(await client.PostAsJsonAsync($"/api/drafts/{release}/folder", plan));
        Assert.Equal(A.Length, first.GetProperty("wantedBytes").GetInt64());
        var created = await client.SendAsync(Create(release, "a.wav", A.Length, ("sha256", Hash(A))));
        await client.SendAsync(Patch(created.Headers.Location!.OriginalString, 0, A[..5]));
        var half = await JsonAsync(await client.PostAsJsonAsync($"/api/drafts/{release}/folder", plan));
        Assert.Equal(created.Headers.Location.OriginalString, half.GetProperty("wanted")[0].GetProperty("upload").GetString());
        await client.SendAsync(Patch(created.Headers.Location!.OriginalString, 5, A[5..]));
        var second = await JsonAsync(await client.PostAsJsonAsync($"/api/drafts/{release}/folder", plan));
        Assert.Equal(0, second.GetProperty("wanted").GetArrayLength());
        var standing = await JsonAsync(await client.GetAsync($"/api/drafts/{release}"));
        Assert.Equal(("draft", 1, 0), (standing.GetProperty("state").GetString(), standing.GetProperty("files").GetInt32(), standing.GetProperty("filesMissing").GetInt32()));
    }

    /// <summary>RFC 7240 §4.3: "wait" bounds how long the server may take; its answer says that it heeds it (§3).</summary>
    [Fact]
    public async Task Who_prefers_to_wait_for_the_check_is_answered_at_its_end()
    {
        var release = await host.OpenDraftAsync();
        var client = host.Sender();
        await client.PostAsJsonAsync($"/api/drafts/{release}/folder", new { files = new[] { new { path = "a.txt", size = A.Length, sha256 = Hash(A) } } });
        var created = await client.SendAsync(Create(release, "a.txt", A.Length, ("sha256", Hash(A))));
        await client.SendAsync(Patch(created.Headers.Location!.OriginalString, 0, A));
        Assert.True((await JsonAsync(await client.PostAsync($"/api/drafts/{release}/check", null))).GetProperty("isChecking").GetBoolean());

        var unhurried = await LookAsync("wait=0");
        Assert.True((await JsonAsync(unhurried)).GetProperty("isChecking").GetBoolean());
        Assert.False(unhurried.Headers.Contains("Preference-Applied"));
        var over = await LookAsync("respond-async, wait=1");
        Assert.True((await JsonAsync(over)).GetProperty("isChecking").GetBoolean());
        Assert.Equal("wait=1", over.Headers.GetValues("Preference-Applied").Single());

        var waiting = LookAsync("wait=4000000");
        await host.RunAsync<IServiceProvider, string?>(services =>
            ActivatorUtilities.CreateInstance<CheckJob>(services).RunAsync(release, CancellationToken.None));
        var answer = await waiting;
        Assert.Equal("checked", (await JsonAsync(answer)).GetProperty("state").GetString());
        Assert.Equal("wait=10", answer.Headers.GetValues("Preference-Applied").Single());

        Task<HttpResponseMessage> LookAsync(string prefer)
        {
            var request = new HttpRequestMessage(HttpMethod.Get, $"/api/drafts/{release}");
            request.Headers.Add("Prefer", prefer);
            return client.SendAsync(request);
        }
    }

    [Fact]
    public async Task An_end_of_a_check_is_told_to_those_who_waited_for_it_and_not_to_later_ones()
    {
        var ends = new CheckEnds();
        var before = ends.Next;
        Assert.False(before.IsCompleted);
        ends.Say();
        await before;
        Assert.False(ends.Next.IsCompleted);
    }

    [Fact]
    public async Task Refusals_come_in_words()
    {
        var release = await host.OpenDraftAsync();
        var client = host.Sender();
        await SaysAsync(HttpStatusCode.NotFound, "nowhere", await client.PostAsJsonAsync("/api/libraries/nowhere/drafts", new { }));
        await SaysAsync(HttpStatusCode.Conflict, "1.0.0", await client.PostAsJsonAsync("/api/libraries/kettle/drafts", new { number = "1.2.0" }));
        await SaysAsync(HttpStatusCode.UnprocessableEntity, "../a.wav",
            await client.PostAsJsonAsync($"/api/drafts/{release}/folder", new { files = new[] { new { path = "../a.wav", size = 1 } } }));
        await SaysAsync(HttpStatusCode.UnprocessableEntity, "is empty. Nothing was altered",
            await client.PostAsJsonAsync($"/api/drafts/{release}/folder", new { files = new object?[] { null } }));
        await SaysAsync(HttpStatusCode.NotFound, "no such version", await client.PostAsJsonAsync("/api/drafts/77/folder", new { files = new[] { new { path = "a", size = 1 } } }));
    }

    [Fact]
    public async Task A_number_that_is_none_or_is_taken_is_refused_and_nothing_is_begun()
    {
        var release = await host.OpenDraftAsync();
        var client = host.Sender();
        // Published, so that no draft is open.
        await host.WithDbAsync(async db =>
        {
            var published = await db.Releases.SingleAsync(r => r.Id == release);
            foreach (var state in new[] { ReleaseState.Checked, ReleaseState.Sealed, ReleaseState.Published })
                Assert.True(published.MoveTo(state, DateTimeOffset.UnixEpoch));
            await db.SaveChangesAsync();
        });
        foreach (var number in new[] { "v1", "1.0", "1.0.0.0", "01.0.0", "1.0.0-", new string('9', 100_000), "1.\u00000" })
            await SaysAsync(HttpStatusCode.UnprocessableEntity, "is not a version number", await client.PostAsJsonAsync("/api/libraries/kettle/drafts", new { number }));
        await SaysAsync(HttpStatusCode.UnprocessableEntity, "1.0.0 is already there", await client.PostAsJsonAsync("/api/libraries/kettle/drafts", new { number = "1.0.0" }));
        await SaysAsync(HttpStatusCode.UnprocessableEntity, "1.0.0 is already there", await client.PostAsJsonAsync("/api/libraries/kettle/drafts", new { number = "1.0.0+again" }));
        Assert.Equal(1, await host.AskDbAsync(db => db.Releases.CountAsync()));
    }

    [Fact]
    public async Task A_zip_by_tus_is_unpacked_by_the_job_and_its_bytes_go()
    {
        var release = await host.OpenDraftAsync();
        var client = host.Sender();
        var zip = Zip(("Kettle/a.wav", A));
        var created = await client.SendAsync(Create(release, "Kettle.zip", zip.Length, ("kind", "zip")));
        await client.SendAsync(Patch(created.Headers.Location!.OriginalString, 0, zip));
        Assert.True((await JsonAsync(await client.GetAsync($"/api/drafts/{release}"))).GetProperty("isUnpacking").GetBoolean());
        await UnpackAsync(created.Headers.Location!.OriginalString.Split('/')[^1]);
        Assert.Equal(["a.wav"], await host.AskDbAsync(db => db.ReleaseFiles.Select(f => f.Path).ToListAsync()));
        Assert.Empty(Directory.EnumerateFiles(Path.Combine(host.DataFolder, "uploads")));
    }

    [Fact]
    public async Task A_zip_by_form_is_taken_without_script()
    {
        var release = await host.OpenDraftAsync();
        var maker = await host.MakerAsync();
        using var answer = await PostZipAsync(maker, release, Zip(("Kettle/../../a.wav", A)));
        Assert.Equal(HttpStatusCode.Redirect, answer.StatusCode);
        var id = await host.AskDbAsync(db => db.Uploads.Select(u => u.Id).SingleAsync());
        await UnpackAsync(id);
        var standing = await JsonAsync(await host.Sender().GetAsync($"/api/drafts/{release}"));
        Assert.Contains("../../a.wav", standing.GetProperty("trouble").GetString(), StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_zip_by_form_needs_the_forms_token_first()
    {
        var release = await host.OpenDraftAsync();
        var maker = await host.MakerAsync();
        using var forged = await PostZipAsync(maker, release, Zip(("a.wav", A)), "forged");
        Assert.Equal(HttpStatusCode.BadRequest, forged.StatusCode);
        using var missing = new MultipartFormDataContent { { new ByteArrayContent(A), "zip", "a.zip" } };
        using var answer = await maker.PostAsync($"/workbench/releases/{release}/zip", missing);
        Assert.Equal(HttpStatusCode.BadRequest, answer.StatusCode);
        Assert.Empty(Directory.EnumerateFiles(Path.Combine(host.DataFolder, "uploads")));
    }

    private static async Task<HttpResponseMessage> PostZipAsync(HttpClient maker, long release, byte[] zip, string? token = null)
    {
        var page = await maker.PageAsync($"/workbench/releases/{release}/zip");
        token ??= page.QuerySelector("input[name=__RequestVerificationToken]")!.GetAttribute("value")!;
        using var form = new MultipartFormDataContent
        {
            { new StringContent(token), "__RequestVerificationToken" },
            { new ByteArrayContent(zip), "zip", "Kettle.zip" },
        };
        return await maker.PostAsync($"/workbench/releases/{release}/zip", form);
    }

    private Task UnpackAsync(string id) => host.RunAsync<IServiceProvider, bool>(async services =>
    {
        await ActivatorUtilities.CreateInstance<UnpackJob>(services).RunAsync(id, CancellationToken.None);
        return true;
    });

    private static byte[] Zip(params (string Path, byte[] Bytes)[] files)
    {
        using var stream = new MemoryStream();
        using (var zip = new ZipArchive(stream, ZipArchiveMode.Create, leaveOpen: true))
        {
            foreach (var (path, bytes) in files)
            {
                using var entry = zip.CreateEntry(path).Open();
                entry.Write(bytes);
            }
        }
        return stream.ToArray();
    }

    private static async Task<JsonElement> JsonAsync(HttpResponseMessage answer)
    {
        var body = await answer.Content.ReadAsStringAsync();
        Assert.True(answer.IsSuccessStatusCode, $"{(int)answer.StatusCode} {body}");
        return JsonDocument.Parse(body).RootElement;
    }

    private static async Task SaysAsync(HttpStatusCode status, string word, HttpResponseMessage answer)
    {
        Assert.Equal(status, answer.StatusCode);
        var said = JsonDocument.Parse(await answer.Content.ReadAsStringAsync()).RootElement.GetProperty("message").GetString();
        Assert.Contains(word, said, StringComparison.OrdinalIgnoreCase);
    }
}
