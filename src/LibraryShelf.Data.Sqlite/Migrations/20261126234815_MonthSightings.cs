using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class MonthSightings : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "MonthSightings",
                columns: table => new
                {
                    Month = table.Column<string>(type: "TEXT", nullable: false),
                    Kind = table.Column<string>(type: "TEXT", nullable: false),
                    LibraryId = table.Column<long>(type: "INTEGER", nullable: false),
                    Word = table.Column<string>(type: "TEXT", nullable: false),
                    Times = table.Column<int>(type: "INTEGER", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MonthSightings", x => new { x.Kind, x.Month, x.LibraryId, x.Word });
                });

            migrationBuilder.CreateIndex(
                name: "IX_MonthSightings_Kind_Word_LibraryId_Month_Times",
                table: "MonthSightings",
                columns: new[] { "Kind", "Word", "LibraryId", "Month", "Times" });

            // From the days that are there; a day that is added to later writes its month anew.
            migrationBuilder.Sql("""
                INSERT INTO "MonthSightings" ("Kind", "Month", "LibraryId", "Word", "Times")
                SELECT "Kind", substr("Day", 1, 7), "LibraryId", "Word", sum("Times") FROM "Sightings" GROUP BY "Kind", substr("Day", 1, 7), "LibraryId", "Word";
                """);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "MonthSightings");
        }
    }
}
