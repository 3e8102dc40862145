using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
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
                    Month = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Kind = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    Word = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Times = table.Column<int>(type: "integer", nullable: false)
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
