using LibraryShelf.Web.Endpoints;
using LibraryShelf.Web.Setup;

// The table of contents of the host: each line is one file in Setup/ or Endpoints/.
var builder = WebApplication.CreateBuilder(args);
builder.AddShelfSettings();
builder.AddShelfData();
builder.AddShelfStorage();
builder.AddShelfVerbs();
builder.AddShelfAccounts();
builder.AddShelfMail();
builder.AddShelfJobs();
builder.AddShelfDownloads();
builder.AddShelfPages();

var app = builder.Build();
await app.PrepareDataAsync();
app.UseShelfPipeline();
app.MapShelfEndpoints();
await app.RunAsync();

public sealed partial class Program;
