using LibraryShelf.Web.Endpoints.Serving;
using Microsoft.AspNetCore.Http;

namespace LibraryShelf.Web.Tests.Endpoints.Serving;

public sealed class ServingPlanTests
{
    private const string Ours = "\"abc\"";

    private static ServingPlan Plan(string method, params (string Name, string Value)[] fields)
    {
        var headers = new HeaderDictionary();
        foreach (var (name, value) in fields) headers.Append(name, value);
        return ServingPlan.For(method, headers, Ours, 1000);
    }

    [Theory]
    [InlineData("GET", 206)]
    [InlineData("HEAD", 200)] // RFC 9110 §14.2: Range is defined for GET only
    public void Range_is_for_GET(string method, int status) => Assert.Equal(status, Plan(method, ("Range", "bytes=5-9")).Status);

    [Theory] // RFC 9110 §13.1.5: strong comparison; a mismatch means the whole
    [InlineData("\"abc\"", 206)]
    [InlineData("\"abd\"", 200)]
    [InlineData("W/\"abc\"", 200)]
    [InlineData("abc", 200)]
    [InlineData("*", 200)]
    [InlineData("\"abc\", \"abd\"", 200)]
    [InlineData("Tue, 24 Nov 2026 09:00:00 GMT", 200)]
    public void If_Range(string value, int status) => Assert.Equal(status, Plan("GET", ("Range", "bytes=5-9"), ("If-Range", value)).Status);

    [Theory] // RFC 9110 §13.1.2: weak comparison
    [InlineData("\"abc\"", 304)]
    [InlineData("W/\"abc\"", 304)]
    [InlineData("\"x\", \"abc\"", 304)]
    [InlineData("*", 304)]
    [InlineData("\"x\"", 200)]
    public void If_None_Match(string value, int status) => Assert.Equal(status, Plan("GET", ("If-None-Match", value)).Status);

    [Theory] // RFC 9110 §13.1.1: strong comparison
    [InlineData("\"abc\"", 200)]
    [InlineData("*", 200)]
    [InlineData("\"x\", \"abc\"", 200)]
    [InlineData("W/\"abc\"", 412)]
    [InlineData("\"x\"", 412)]
    [InlineData("rubbish", 412)]
    public void If_Match(string value, int status) => Assert.Equal(status, Plan("GET", ("If-Match", value)).Status);

    [Fact] // RFC 9110 §13.2.2
    public void Preconditions_come_in_the_order_of_the_standard()
    {
        Assert.Equal(412, Plan("GET", ("If-Match", "\"x\""), ("If-None-Match", "\"abc\""), ("Range", "bytes=5-9")).Status);
        Assert.Equal(304, Plan("GET", ("If-Match", "\"abc\""), ("If-None-Match", "\"abc\""), ("Range", "bytes=5-9")).Status);
        Assert.Equal(416, Plan("GET", ("If-Match", "\"abc\""), ("If-None-Match", "\"x\""), ("Range", "bytes=1000-")).Status);
        Assert.Equal(200, Plan("GET", ("If-Range", "\"x\""), ("Range", "bytes=1000-")).Status);
    }

    [Fact]
    public void Range_sent_twice_can_not_be_understood() => Assert.Equal(200, Plan("GET", ("Range", "bytes=0-1"), ("Range", "bytes=5-9")).Status);

    [Fact]
    public void Only_going_on_to_the_end_under_our_tag_is_a_resumption()
    {
        Assert.Equal(400, Plan("GET", ("Range", "bytes=400-"), ("If-Range", Ours)).ResumedFrom);
        Assert.Null(Plan("GET", ("Range", "bytes=400-")).ResumedFrom);
        Assert.Null(Plan("GET", ("Range", "bytes=0-"), ("If-Range", Ours)).ResumedFrom);
        Assert.Null(Plan("GET", ("Range", "bytes=400-999"), ("If-Range", Ours)).ResumedFrom);
        Assert.Null(Plan("GET", ("Range", "bytes=-600"), ("If-Range", Ours)).ResumedFrom);
        Assert.Null(Plan("GET", ("Range", "bytes=0-9,400-"), ("If-Range", Ours)).ResumedFrom);
        Assert.Null(Plan("GET", ("Range", "bytes=400-"), ("If-Range", "\"other\"")).ResumedFrom);
    }
}
