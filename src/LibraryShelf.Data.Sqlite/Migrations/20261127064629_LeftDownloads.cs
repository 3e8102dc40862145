using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
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
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<int>(
                name: "LeftAgain",
                table: "MonthCounts",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<long>(
                name: "LeftCovered",
                table: "MonthCounts",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "LeftLength",
                table: "MonthCounts",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<int>(
                name: "Left",
                table: "DayCounts",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<int>(
                name: "LeftAgain",
                table: "DayCounts",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0);

            migrationBuilder.AddColumn<long>(
                name: "LeftCovered",
                table: "DayCounts",
                type: "INTEGER",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddColumn<long>(
                name: "LeftLength",
                table: "DayCounts",
                type: "INTEGER",
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
