using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class SightingsAndMonths : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "Use",
                table: "UploadTokens",
                type: "text",
                nullable: false,
                defaultValue: "Send",
                collation: "C");

            migrationBuilder.AddColumn<long>(
                name: "GigabytePrice",
                table: "Shops",
                type: "bigint",
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "Ended",
                table: "DayCounts",
                type: "integer",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.CreateTable(
                name: "MonthPeople",
                columns: table => new
                {
                    Month = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    SignedIn = table.Column<int>(type: "integer", nullable: false),
                    Mark = table.Column<long>(type: "bigint", nullable: false),
                    RolledAt = table.Column<long>(type: "bigint", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MonthPeople", x => new { x.LibraryId, x.Month });
                });

            migrationBuilder.CreateTable(
                name: "Sightings",
                columns: table => new
                {
                    Day = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Kind = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    Word = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Times = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_Sightings", x => new { x.Day, x.Kind, x.LibraryId, x.Word });
                });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "MonthPeople");

            migrationBuilder.DropTable(
                name: "Sightings");

            migrationBuilder.DropColumn(
                name: "Use",
                table: "UploadTokens");

            migrationBuilder.DropColumn(
                name: "GigabytePrice",
                table: "Shops");

            migrationBuilder.DropColumn(
                name: "Ended",
                table: "DayCounts");
        }
    }
}
