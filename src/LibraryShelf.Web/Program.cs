using LibraryShelf.Web.Admin;
using LibraryShelf.Web.Endpoints;
using LibraryShelf.Web.Setup;
using LibraryShelf.Web.Setup.Demo;
using LibraryShelf.Web.Setup.Metering;

// The table of contents of the host: each line is one file in Setup/ or Endpoints/.
if (AdminArguments.Read(args) is { } admin)
    return await AdminProgram.RunAsync(admin);
var start = DemoArguments.Read(args);
if (!await DemoShop.OpenAsync(start))
    return 2;

// Settings are read once, at the start: no file is watched for changes.
var builder = WebApplication.CreateBuilder([.. start.Rest, "--hostBuilder:reloadConfigOnChange=false"]);
builder.AddShelfLogRules();
builder.AddShelfSettings();
if (!builder.Configuration.SpeakShelfLanguage())
    return 2;
builder.AddShelfData();
builder.AddShelfStorage();
builder.AddShelfVerbs();
builder.AddShelfAccounts();
builder.AddShelfMail();
builder.AddShelfPayments();
builder.AddShelfJobs();
builder.AddShelfDownloads();
builder.AddShelfPages();
builder.AddShelfMeters();

var app = builder.Build();
if (!await app.PrepareDataAsync())
    return 2;
app.WarnOfMail();
app.UseShelfPipeline();
app.MapShelfEndpoints();
app.GreetDemo(start);
await app.RunAsync();
return 0;

public sealed partial class Program;
