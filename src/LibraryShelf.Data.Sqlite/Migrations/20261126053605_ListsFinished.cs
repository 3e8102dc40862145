using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Sqlite.Migrations
{
    /// <inheritdoc />
    public partial class ListsFinished : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<long>(
                name: "FinishedAt",
                table: "MemberImports",
                type: "INTEGER",
                nullable: true);

            // Whether one of these broke off is not known; gone through again, it would bring back whoever was deleted since.
            migrationBuilder.Sql("UPDATE \"MemberImports\" SET \"FinishedAt\" = \"ImportedAt\"");
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropColumn(
                name: "FinishedAt",
                table: "MemberImports");
        }
    }
}
