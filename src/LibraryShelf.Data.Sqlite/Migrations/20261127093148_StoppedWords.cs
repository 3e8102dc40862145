using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class StoppedWords : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "StoppedWords",
                table: "Releases",
                type: "TEXT",
                nullable: true);
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "StoppedWords",
                table: "Releases");
        }
    }
}
