using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class PeopleApart : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<int>(
                name: "Free",
                table: "MonthPeople",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "Members",
                table: "MonthPeople",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "Free",
                table: "DayPeople",
                type: "INTEGER",
                nullable: true);

            migrationBuilder.AddColumn<int>(
                name: "Members",
                table: "DayPeople",
                type: "INTEGER",
                nullable: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "Free",
                table: "MonthPeople");

            migrationBuilder.DropColumn(
                name: "Members",
                table: "MonthPeople");

            migrationBuilder.DropColumn(
                name: "Free",
                table: "DayPeople");

            migrationBuilder.DropColumn(
                name: "Members",
                table: "DayPeople");
        }
    }
}
