using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class MonthCounts : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "DaySums",
                columns: table => new
                {
                    Day = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Started = table.Column<int>(type: "integer", nullable: false),
                    Finished = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_DaySums", x => x.Day);
                });

            migrationBuilder.CreateTable(
                name: "MonthCounts",
                columns: table => new
                {
                    Month = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    DropId = table.Column<long>(type: "bigint", nullable: false),
                    Kind = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    By = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Started = table.Column<int>(type: "integer", nullable: false),
                    Finished = table.Column<int>(type: "integer", nullable: false),
                    Ended = table.Column<int>(type: "integer", nullable: false),
                    Requests = table.Column<int>(type: "integer", nullable: false),
                    Resumes = table.Column<int>(type: "integer", nullable: false),
                    Bytes = table.Column<long>(type: "bigint", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MonthCounts", x => new { x.Month, x.LibraryId, x.ReleaseId, x.DropId, x.Kind, x.By });
                });

            migrationBuilder.CreateIndex(
                name: "IX_Sightings_Kind_Word_LibraryId_Day_Times",
                table: "Sightings",
                columns: new[] { "Kind", "Word", "LibraryId", "Day", "Times" });

            // From the days that are rolled up, so that nothing has to be counted again; a day that changes later writes both anew.
            migrationBuilder.Sql("""
                INSERT INTO "MonthCounts" ("Month", "LibraryId", "ReleaseId", "DropId", "Kind", "By", "Started", "Finished", "Ended", "Requests", "Resumes", "Bytes")
                SELECT substr("Day", 1, 7), "LibraryId", "ReleaseId", "DropId", "Kind", "By", sum("Started"), sum("Finished"), sum("Ended"), sum("Requests"), sum("Resumes"), sum("Bytes")
                FROM "DayCounts" GROUP BY substr("Day", 1, 7), "LibraryId", "ReleaseId", "DropId", "Kind", "By";
                """);
            migrationBuilder.Sql("""
                INSERT INTO "DaySums" ("Day", "Started", "Finished")
                SELECT "Day", sum("Started"), sum("Finished") FROM "DayCounts" WHERE "By" IN ('Free', 'Members') GROUP BY "Day";
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "DaySums");

            migrationBuilder.DropTable(
                name: "MonthCounts");

            migrationBuilder.DropIndex(
                name: "IX_Sightings_Kind_Word_LibraryId_Day_Times",
                table: "Sightings");
        }
    }
}
