using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class DayCounts : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<bool>(
                name: "IsRobot",
                table: "Downloads",
                type: "INTEGER",
                nullable: false,
                defaultValue: false);

            migrationBuilder.AddColumn<string>(
                name: "Visitor",
                table: "Downloads",
                type: "TEXT",
                nullable: true);

            migrationBuilder.AddColumn<long>(
                name: "BytesServed",
                table: "DownloadTallies",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<bool>(
                name: "IsAgain",
                table: "DownloadTallies",
                type: "INTEGER",
                nullable: false,
                defaultValue: false);

            migrationBuilder.AddColumn<int>(
                name: "Requests",
                table: "DownloadTallies",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<int>(
                name: "Resumes",
                table: "DownloadTallies",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<long>(
                name: "StartedAt",
                table: "DownloadTallies",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<bool>(
                name: "BeginsAnswer",
                table: "DownloadEvents",
                type: "INTEGER",
                nullable: false,
                defaultValue: false);

            migrationBuilder.CreateTable(
                name: "DayCounts",
                columns: table => new
                {
                    Day = table.Column<string>(type: "TEXT", nullable: false),
                    ReleaseId = table.Column<long>(type: "INTEGER", nullable: false),
                    DropId = table.Column<long>(type: "INTEGER", nullable: false),
                    Kind = table.Column<string>(type: "TEXT", nullable: false),
                    By = table.Column<string>(type: "TEXT", nullable: false),
                    LibraryId = table.Column<long>(type: "INTEGER", nullable: false),
                    Started = table.Column<int>(type: "INTEGER", nullable: false),
                    Finished = table.Column<int>(type: "INTEGER", nullable: false),
                    Requests = table.Column<int>(type: "INTEGER", nullable: false),
                    Resumes = table.Column<int>(type: "INTEGER", nullable: false),
                    Bytes = table.Column<long>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_DayCounts", x => new { x.Day, x.ReleaseId, x.DropId, x.Kind, x.By });
                });

            migrationBuilder.CreateTable(
                name: "DayPeople",
                columns: table => new
                {
                    Day = table.Column<string>(type: "TEXT", nullable: false),
                    LibraryId = table.Column<long>(type: "INTEGER", nullable: false),
                    People = table.Column<int>(type: "INTEGER", nullable: false),
                    SignedIn = table.Column<int>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_DayPeople", x => new { x.LibraryId, x.Day });
                });

            migrationBuilder.CreateTable(
                name: "DayRolls",
                columns: table => new
                {
                    Day = table.Column<string>(type: "TEXT", nullable: false),
                    Changed = table.Column<long>(type: "INTEGER", nullable: false),
                    Rolled = table.Column<long>(type: "INTEGER", nullable: false),
                    By = table.Column<string>(type: "TEXT", nullable: false),
                    RolledAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_DayRolls", x => x.Day);
                });

            migrationBuilder.CreateIndex(
                name: "IX_DownloadTallies_StartedAt",
                table: "DownloadTallies",
                column: "StartedAt");

            migrationBuilder.CreateIndex(
                name: "IX_DayCounts_LibraryId_Day",
                table: "DayCounts",
                columns: new[] { "LibraryId", "Day" });

            // Of downloads counted before: what their rows and the events say that are kept and counted; where none is kept, each byte once. How many requests they
            // were is not known; one each.
            migrationBuilder.Sql("""
                UPDATE "DownloadTallies" SET
                  "StartedAt" = (SELECT d."StartedAt" FROM "Downloads" d WHERE d."Id" = "DownloadTallies"."DownloadId"),
                  "Requests" = 1,
                  "Resumes" = (SELECT count(*) FROM "DownloadEvents" e WHERE e."DownloadId" = "DownloadTallies"."DownloadId" AND e."Id" <= "DownloadTallies"."LastEventId" AND e."IsEvidence"),
                  "BytesServed" = coalesce((SELECT sum(e."To" - e."From") FROM "DownloadEvents" e WHERE e."DownloadId" = "DownloadTallies"."DownloadId" AND e."Id" <= "DownloadTallies"."LastEventId" AND NOT e."IsEvidence"), "BytesCovered");
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "DayCounts");

            migrationBuilder.DropTable(
                name: "DayPeople");

            migrationBuilder.DropTable(
                name: "DayRolls");

            migrationBuilder.DropIndex(
                name: "IX_DownloadTallies_StartedAt",
                table: "DownloadTallies");

            migrationBuilder.DropColumn(
                name: "IsRobot",
                table: "Downloads");

            migrationBuilder.DropColumn(
                name: "Visitor",
                table: "Downloads");

            migrationBuilder.DropColumn(
                name: "BytesServed",
                table: "DownloadTallies");

            migrationBuilder.DropColumn(
                name: "IsAgain",
                table: "DownloadTallies");

            migrationBuilder.DropColumn(
                name: "Requests",
                table: "DownloadTallies");

            migrationBuilder.DropColumn(
                name: "Resumes",
                table: "DownloadTallies");

            migrationBuilder.DropColumn(
                name: "StartedAt",
                table: "DownloadTallies");

            migrationBuilder.DropColumn(
                name: "BeginsAnswer",
                table: "DownloadEvents");
        }
    }
}
