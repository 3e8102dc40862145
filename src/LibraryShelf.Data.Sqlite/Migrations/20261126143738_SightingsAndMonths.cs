using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
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
                type: "TEXT",
                nullable: false,
                defaultValue: "Send");

            migrationBuilder.AddColumn<long>(
                name: "GigabytePrice",
                table: "Shops",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "Ended",
                table: "DayCounts",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.CreateTable(
                name: "MonthPeople",
                columns: table => new
                {
                    Month = table.Column<string>(type: "TEXT", nullable: false),
                    LibraryId = table.Column<long>(type: "INTEGER", nullable: false),
                    SignedIn = table.Column<int>(type: "INTEGER", nullable: false),
                    Mark = table.Column<long>(type: "INTEGER", nullable: false),
                    RolledAt = table.Column<long>(type: "INTEGER", nullable: true)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_MonthPeople", x => new { x.LibraryId, x.Month });
                });

            migrationBuilder.CreateTable(
                name: "Sightings",
                columns: table => new
                {
                    Day = table.Column<string>(type: "TEXT", nullable: false),
                    Kind = table.Column<string>(type: "TEXT", nullable: false),
                    LibraryId = table.Column<long>(type: "INTEGER", nullable: false),
                    Word = table.Column<string>(type: "TEXT", nullable: false),
                    Times = table.Column<int>(type: "INTEGER", nullable: false)
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
