using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class ReleaseSheetAndLimits : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.AddColumn<string>(
                name: "Limits",
                table: "Libraries",
                type: "text",
                nullable: false,
                defaultValue: "",
                collation: "C");

            migrationBuilder.CreateTable(
                name: "ReleaseSheets",
                columns: table => new
                {
                    ReleaseId = table.Column<long>(type: "bigint", nullable: false),
                    Places = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    Limits = table.Column<string>(type: "text", nullable: false, collation: "C")
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_ReleaseSheets", x => x.ReleaseId);
                });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "ReleaseSheets");

            migrationBuilder.DropColumn(
                name: "Limits",
                table: "Libraries");
        }
    }
}
