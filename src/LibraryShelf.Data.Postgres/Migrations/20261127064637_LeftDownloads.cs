using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class LeftDownloads : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<int>(
                name: "Left",
                table: "MonthCounts",
                type: "integer",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<int>(
                name: "LeftAgain",
                table: "MonthCounts",
                type: "integer",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<long>(
                name: "LeftCovered",
                table: "MonthCounts",
                type: "bigint",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "LeftLength",
                table: "MonthCounts",
                type: "bigint",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<int>(
                name: "Left",
                table: "DayCounts",
                type: "integer",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<int>(
                name: "LeftAgain",
                table: "DayCounts",
                type: "integer",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<long>(
                name: "LeftCovered",
                table: "DayCounts",
                type: "bigint",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "LeftLength",
                table: "DayCounts",
                type: "bigint",
                nullable: false,
                defaultValue: 0L);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "Left",
                table: "MonthCounts");

            migrationBuilder.DropColumn(
                name: "LeftAgain",
                table: "MonthCounts");

            migrationBuilder.DropColumn(
                name: "LeftCovered",
                table: "MonthCounts");

            migrationBuilder.DropColumn(
                name: "LeftLength",
                table: "MonthCounts");

            migrationBuilder.DropColumn(
                name: "Left",
                table: "DayCounts");

            migrationBuilder.DropColumn(
                name: "LeftAgain",
                table: "DayCounts");

            migrationBuilder.DropColumn(
                name: "LeftCovered",
                table: "DayCounts");

            migrationBuilder.DropColumn(
                name: "LeftLength",
                table: "DayCounts");
        }
    }
}
