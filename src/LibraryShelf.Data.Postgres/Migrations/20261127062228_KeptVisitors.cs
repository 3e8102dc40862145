using Microsoft.EntityFrameworkCore.Migrations;

#nullable disable

namespace LibraryShelf.Data.Postgres.Migrations
{
    /// <inheritdoc />
    public partial class KeptVisitors : Migration
    {
        /// <inheritdoc />
        protected override void Up(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.CreateTable(
                name: "KeptVisitors",
                columns: table => new
                {
                    Day = table.Column<string>(type: "text", nullable: false, collation: "C"),
                    LibraryId = table.Column<long>(type: "bigint", nullable: false),
                    Visitors = table.Column<int>(type: "integer", nullable: false)
                },
                constraints: table =>
                {
                    table.PrimaryKey("PK_KeptVisitors", x => new { x.Day, x.LibraryId });
                });
        }

        /// <inheritdoc />
        protected override void Down(MigrationBuilder migrationBuilder)
        {
            migrationBuilder.DropTable(
                name: "KeptVisitors");
        }
    }
}
