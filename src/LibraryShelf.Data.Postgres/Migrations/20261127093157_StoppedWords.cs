using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
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
                type: "text",
                nullable: true,
                collation: "C");
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
