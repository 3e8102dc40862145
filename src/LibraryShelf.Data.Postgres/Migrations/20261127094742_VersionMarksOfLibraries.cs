using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class VersionMarksOfLibraries : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropPrimaryKey(
                name: "PK_VersionMarks",
                table: "VersionMarks");

            migrationBuilder.AddColumn<long>(
                name: "LibraryId",
                table: "VersionMarks",
                type: "bigint",
                nullable: false,
                defaultValue: 0L);

            migrationBuilder.AddPrimaryKey(
                name: "PK_VersionMarks",
                table: "VersionMarks",
                columns: new[] { "LibraryId", "PersonId" });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropPrimaryKey(
                name: "PK_VersionMarks",
                table: "VersionMarks");

            migrationBuilder.DropColumn(
                name: "LibraryId",
                table: "VersionMarks");

            migrationBuilder.AddPrimaryKey(
                name: "PK_VersionMarks",
                table: "VersionMarks",
                column: "PersonId");
        }
    }
}
